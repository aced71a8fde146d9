//! Stage tests: where the states draw the line at different values, and what a laboratory must say of its test.

use lowstave::analyte::Analyte::{self, *};
use lowstave::diagnosis::{Because, Finding, Outcome};
use lowstave::rulebook::{Factor, Rulebook};

use crate::made_zones::{Made, key, rate};

fn of(analyte: Analyte, method: &str, ppm: f64, crop: &str) -> Made {
    Made::one()
        .layer(key(analyte, method, "0-6 in"), "ppm", &[ppm])
        .settings(|settings| settings.crop = crop.into())
}

fn judged(made: &Made, factor: Factor, rulebook: &Rulebook) -> Finding {
    let zone = made.diagnosis(rulebook).zones.remove(0);
    let mut findings = zone.findings.into_iter();
    findings
        .find(|finding| finding.factor == factor)
        .expect("a finding")
}

fn region(name: &str) -> Rulebook {
    Rulebook::of_region(name).expect("a region")
}

/// Lowest and highest critical values, ppm: Mehlich-3 corn 18 (Nebraska, Shapiro et al. 2017) and 36 (Arkansas calibration); Bray-1 corn 15
/// (Nebraska) and 22.5 (Missouri's target, 45 lb/ac); Olsen soybean 7 (North Dakota State University) and 12 (Ontario); potassium by acetate, corn, 80
/// (University of Minnesota) and 130 (Kansas State University).
#[test]
fn without_a_region_only_what_every_state_calls_short_is_short() {
    let cases = [
        (Phosphorus, "mehlich-3", "corn", 18.0, 36.0),
        (Phosphorus, "bray-1", "corn", 15.0, 22.5),
        (Phosphorus, "olsen", "soybean", 7.0, 12.0),
        (Potassium, "ammonium-acetate", "corn", 80.0, 130.0),
    ];
    let built_in = Rulebook::built_in();
    for (analyte, method, crop, least, most) in cases {
        let factor = if analyte == Phosphorus {
            Factor::Phosphorus
        } else {
            Factor::Potassium
        };
        let at = |ppm| judged(&of(analyte.clone(), method, ppm, crop), factor, &built_in);
        assert_eq!(at(least - 0.5).outcome, Outcome::Limiting, "{method}");
        assert_eq!(at(most + 0.5).outcome, Outcome::Adequate, "{method}");
        let between = at(f64::midpoint(least, most));
        assert_eq!(
            between.not_known,
            Some(Because::DependsOnRegion),
            "{method}: {between:?}"
        );
        assert!(
            between.sentence.contains("write region = "),
            "{}",
            between.sentence
        );
        assert!(between.severity == 0.0 && between.possible_severity > 0.0);
    }
}

#[test]
fn the_same_test_is_short_in_one_state_and_enough_in_another() {
    let made = of(Phosphorus, "mehlich-3", 25.0, "corn");
    let outcome = |rulebook: &Rulebook| judged(&made, Factor::Phosphorus, rulebook).outcome;
    assert_eq!(outcome(&region("tri-state")), Outcome::Adequate);
    assert_eq!(outcome(&region("pennsylvania")), Outcome::Limiting);
    assert_eq!(outcome(&region("kansas")), Outcome::Adequate);
    // Oregon's pack holds lime only: the bracket holds, and it is said.
    let oregon = judged(&made, Factor::Phosphorus, &region("oregon"));
    assert_eq!(oregon.not_known, Some(Because::DependsOnRegion));
    assert!(
        oregon
            .sentence
            .contains("the region's rules have no limit for this test"),
        "{}",
        oregon.sentence
    );
}

#[test]
fn a_threshold_of_the_users_own_leaves_nothing_between() {
    let made = of(Phosphorus, "mehlich-3", 25.0, "corn");
    let own = |text: &str| Rulebook::from_text(text, "own.toml").expect("a rulebook");
    let higher = own("[rule.phosphorus_mehlich_3]\nthreshold = 26\n");
    assert_eq!(
        judged(&made, Factor::Phosphorus, &higher).outcome,
        Outcome::Limiting
    );
    let for_corn = own("[rule.phosphorus_mehlich_3]\nthreshold_for = { corn = 22 }\n");
    assert_eq!(
        judged(&made, Factor::Phosphorus, &for_corn).outcome,
        Outcome::Adequate
    );
    // Soybean keeps the bracket of the states, 14 to 30.
    let soybean = of(Phosphorus, "mehlich-3", 25.0, "soybean");
    assert_eq!(
        judged(&soybean, Factor::Phosphorus, &for_corn).not_known,
        Some(Because::DependsOnRegion)
    );
}

/// No product goes out on an unknown, and no soil test is bought where only the state is missing.
#[test]
fn between_the_states_nothing_goes_out_and_no_test_is_asked_for() {
    let made = Made::one().sound().with(Phosphorus, &[25.0]);
    let prescription = made.prescribed();
    assert_eq!(rate(&prescription.zones[0], "starter"), 0.0);
    assert!(
        !prescription
            .test_first
            .iter()
            .any(|test| test.test.contains("phosphorus"))
    );
    let told = prescription.zones[0]
        .not_known
        .iter()
        .find(|told| told.factor == Factor::Phosphorus);
    assert!(told.expect("told").line().contains("write region = "));
    let in_pennsylvania = made.prescribed_by(&region("pennsylvania"));
    assert!(rate(&in_pennsylvania.zones[0], "starter") > 0.0);
}

#[test]
fn mehlich_3_asks_whether_it_was_read_by_icp_or_by_colour() {
    let built_in = Rulebook::built_in();
    let remarks = |method: &str| {
        let found = of(Phosphorus, method, 10.0, "corn")
            .diagnosis(&built_in)
            .remarks;
        found
            .iter()
            .any(|remark| remark.code == "mehlich-3-detection")
    };
    assert!(
        remarks("mehlich-3")
            && !remarks("mehlich-3-icp")
            && !remarks("mehlich-3-colour")
            && !remarks("bray-1")
    );
    let at = |method: &str, ppm| {
        judged(
            &of(Phosphorus, method, ppm, "corn"),
            Factor::Phosphorus,
            &built_in,
        )
    };
    let bare = at("mehlich-3", 10.0);
    assert!(
        bare.cautions
            .iter()
            .any(|caution| caution.contains("ICP or by colour")),
        "{:?}",
        bare.cautions
    );
    // Both are judged, each by its own states: 19 ppm is short by ICP (Ohio, Indiana and Michigan: 20) and not settled by colour (15 to 22.5).
    assert_eq!(at("mehlich-3-icp", 19.0).outcome, Outcome::Limiting);
    assert_eq!(
        at("mehlich-3-colour", 19.0).not_known,
        Some(Because::DependsOnRegion)
    );
}

/// Every line that differs by crop, and those of the methods that few laboratories name, is crossed where it stands: none of these numbers is idle.
#[test]
fn each_line_of_each_crop_is_crossed_where_it_stands() {
    let built_in = Rulebook::built_in();
    let mut crossed = 0;
    for rule in built_in
        .rules
        .iter()
        .filter(|rule| rule.enough_from.is_some())
    {
        let method = rule.methods[0].name().to_owned();
        let named = rule.threshold_for.iter().chain(&rule.enough_from_for);
        let crops = named.map(|(crop, _)| crop.as_str()).chain(["corn"]);
        for crop in crops {
            let at = |ppm: f64| {
                let made = of(rule.analyte.clone(), &method, ppm, crop);
                // The level of light ground is asked for by its own rule.
                let light = key(CationExchangeCapacity, "sum", "0-6 in");
                let cec = if rule.name.ends_with("_light") {
                    4.0
                } else {
                    12.0
                };
                judged(
                    &made.layer(light, "meq/100 g", &[cec]),
                    rule.factor,
                    &built_in,
                )
            };
            let (least, hair) = (rule.threshold_for(crop), 0.01);
            let short = at(least - hair);
            assert_eq!(
                (short.rule.as_str(), short.outcome),
                (rule.name.as_str(), Outcome::Limiting),
                "{crop}"
            );
            assert_ne!(
                at(least + hair).outcome,
                Outcome::Limiting,
                "{} {crop}",
                rule.name
            );
            let most = rule.enough_from(crop).unwrap_or(least);
            assert_eq!(
                at(most + hair).outcome,
                Outcome::Adequate,
                "{} {crop}",
                rule.name
            );
            assert_ne!(
                at(most - hair).outcome,
                Outcome::Adequate,
                "{} {crop}",
                rule.name
            );
            let halfway = at(f64::midpoint(least, rule.worst)).severity;
            assert!(
                (halfway - rule.most / 2.0).abs() < 1e-4,
                "{} {crop}: {halfway}",
                rule.name
            );
            crossed += 1;
        }
    }
    assert!(crossed > 30, "{crossed}");
}
