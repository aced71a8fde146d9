//! Stage tests: diagnosis.

use lowstave::analyte::Analyte::{self, *};
use lowstave::diagnosis::{DiagnosisError, Finding, Outcome, ZoneDiagnosis, diagnose};
use lowstave::rulebook::{Factor, Rulebook};
use lowstave::units::UnitSystem;

use crate::made_zones::{Made, key};

const FC: Option<&str> = Some("field capacity");

fn finding<'a>(zone: &'a ZoneDiagnosis, rule: &str) -> &'a Finding {
    zone.findings
        .iter()
        .find(|finding| finding.rule == rule)
        .unwrap_or_else(|| panic!("no finding of {rule}: {:#?}", zone.findings))
}

fn one(analyte: Analyte, method: &str, depth: &str, unit: &str, value: f64) -> ZoneDiagnosis {
    Made::one()
        .layer(key(analyte, method, depth), unit, &[value])
        .diagnosed()
        .remove(0)
}

#[test]
fn each_rule_finds_on_its_side_of_the_threshold_and_not_on_the_other() {
    let cases: &[(&str, Analyte, &str, &str, f64, f64)] = &[
        (
            "carbon_water_extract",
            CarbonNitrogenRatio,
            "water-extract",
            "ratio",
            15.9,
            16.1,
        ),
        ("carbon_organic", OrganicCarbon, "combustion", "%", 0.5, 0.6),
        (
            "calcium_saturation",
            CalciumSaturation,
            "calculated",
            "%",
            64.0,
            66.0,
        ),
        (
            "calcium_mehlich_3",
            Calcium,
            "mehlich-3",
            "ppm",
            500.0,
            510.0,
        ),
        (
            "phosphorus_mehlich_3",
            Phosphorus,
            "mehlich-3",
            "ppm",
            17.0,
            37.0,
        ),
        ("phosphorus_bray_1", Phosphorus, "bray-1", "ppm", 14.0, 23.0),
        ("phosphorus_olsen", Phosphorus, "olsen", "ppm", 9.0, 17.0),
        ("acidity", Ph, "water", "pH", 5.9, 6.1),
        ("alkalinity", Ph, "water", "pH", 8.4, 8.2),
        (
            "magnesium_excess",
            MagnesiumSaturation,
            "calculated",
            "%",
            21.0,
            19.0,
        ),
        (
            "sodium_structure",
            SodiumSaturation,
            "calculated",
            "%",
            7.0,
            5.0,
        ),
        (
            "sodium_exchangeable",
            SodiumSaturation,
            "calculated",
            "%",
            16.0,
            14.0,
        ),
        (
            "sodium_adsorption",
            SodiumAdsorptionRatio,
            "paste",
            "ratio",
            14.0,
            12.0,
        ),
        // Corn, 1.7 dS/m (Maas and Grattan, from memory).
        ("salt", ElectricalConductivity, "paste", "dS/m", 2.0, 1.5),
        (
            "potassium_mehlich_3",
            Potassium,
            "mehlich-3",
            "ppm",
            99.0,
            131.0,
        ),
        (
            "potassium_ammonium_acetate",
            Potassium,
            "ammonium-acetate",
            "ppm",
            79.0,
            131.0,
        ),
        ("sulfur_mehlich_3", Sulfur, "mehlich-3", "ppm", 7.0, 9.0),
        ("boron", Boron, "mehlich-3", "ppm", 0.4, 0.6),
        ("boron_hot_water", Boron, "hot-water", "ppm", 0.4, 0.6),
        ("zinc_mehlich_3", Zinc, "mehlich-3", "ppm", 0.9, 1.1),
        ("zinc_dtpa", Zinc, "dtpa", "ppm", 0.8, 1.0),
    ];
    for (rule, analyte, method, unit, past, not_past) in cases {
        let zone = one(analyte.clone(), method, "0-6 in", unit, *past);
        let found = finding(&zone, rule);
        assert_eq!(found.outcome, Outcome::Limiting, "{rule}");
        assert!(
            found.severity > 0.0 && found.confidence > 0.9,
            "{rule}: {found:?}"
        );
        assert!(
            found.sentence.contains("the threshold of"),
            "{}",
            found.sentence
        );
        let zone = one(analyte.clone(), method, "0-6 in", unit, *not_past);
        let found = finding(&zone, rule);
        assert_eq!(found.outcome, Outcome::Adequate, "{rule}");
        assert!(
            found.severity == 0.0 && found.confidence < 0.1,
            "{rule}: {found:?}"
        );
    }
}

#[test]
fn a_value_on_the_threshold_itself_is_not_past_it() {
    let zone = one(Boron, "mehlich-3", "0-6 in", "ppm", 0.5);
    assert_eq!(finding(&zone, "boron").outcome, Outcome::Adequate);
}

#[test]
fn another_method_is_not_comparable_and_never_limiting() {
    for (analyte, method, unit, value, factor) in [
        (Ph, "cacl2", "pH", 5.5, Factor::Acidity),
        (
            CarbonNitrogenRatio,
            "combustion",
            "ratio",
            10.5,
            Factor::Carbon,
        ),
        (ElectricalConductivity, "1:1", "dS/m", 0.6, Factor::Salt),
        (Phosphorus, "bray-2", "ppm", 2.0, Factor::Phosphorus),
        (CarbonNitrogenRatio, "", "ratio", 8.0, Factor::Carbon),
    ] {
        let zone = one(analyte, method, "0-6 in", unit, value);
        let found: Vec<&Finding> = zone
            .findings
            .iter()
            .filter(|finding| finding.factor == factor)
            .collect();
        assert!(
            !found.is_empty()
                && found
                    .iter()
                    .all(|finding| finding.outcome == Outcome::NotComparable),
            "{method}: {found:#?}"
        );
        assert!(
            found[0].sentence.contains("not comparable"),
            "{}",
            found[0].sentence
        );
        assert_eq!(zone.limits().count(), 0);
    }
}

#[test]
fn another_depth_or_none_is_not_comparable() {
    for depth in ["0-12 in", "6-12 in", ""] {
        let zone = one(Ph, "water", depth, "pH", 5.0);
        assert_eq!(
            finding(&zone, "acidity").outcome,
            Outcome::NotComparable,
            "{depth}"
        );
    }
    for depth in ["0-15 cm", "0-7 in", "0-20 cm"] {
        let zone = one(Ph, "water", depth, "pH", 5.0);
        assert_eq!(
            finding(&zone, "acidity").outcome,
            Outcome::Limiting,
            "{depth}"
        );
    }
}

#[test]
fn organic_matter_is_not_carbon() {
    let zone = one(OrganicMatter, "loi", "0-6 in", "%", 0.8);
    let carbon = finding(&zone, "carbon_water_extract");
    assert_eq!(carbon.outcome, Outcome::NotMeasured);
    assert!(
        carbon
            .cautions
            .iter()
            .any(|caution| caution.contains("is not carbon")),
        "{:?}",
        carbon.cautions
    );
    assert!(
        carbon
            .cautions
            .iter()
            .any(|caution| caution.contains("was not held back")),
        "{:?}",
        carbon.cautions
    );
    assert!(!zone.findings.iter().any(|finding| finding.factor == Factor::Carbon && finding.outcome == Outcome::Limiting));
}

#[test]
fn organic_carbon_does_not_stand_in_for_the_ratio_that_the_gate_wants() {
    let zone = one(OrganicCarbon, "combustion", "0-6 in", "%", 0.4);
    assert_eq!(finding(&zone, "carbon_organic").outcome, Outcome::Limiting);
    assert_eq!(
        finding(&zone, "carbon_water_extract").outcome,
        Outcome::NotMeasured
    );
    assert!(!finding(&zone, "carbon_organic").closes_product("starter"));
}

#[test]
fn the_ratio_of_a_zone_is_the_ratio_of_its_means() {
    // Half the cells 100:5 = 20, half 300:30 = 10: the mean of ratios is 15, the ratio of means 400 / 35 = 11.43.
    let made = Made::one()
        .cell_layer(
            key(CarbonNitrogenRatio, "water-extract", "0-6 in"),
            "ratio",
            |cell| if cell % 2 == 0 { 20.0 } else { 10.0 },
        )
        .cell_layer(key(WaterCarbon, "water-extract", "0-6 in"), "ppm", |cell| {
            if cell % 2 == 0 { 100.0 } else { 300.0 }
        })
        .cell_layer(
            key(WaterNitrogen, "water-extract", "0-6 in"),
            "ppm",
            |cell| if cell % 2 == 0 { 5.0 } else { 30.0 },
        );
    let zone = made.diagnosed().remove(0);
    let value = finding(&zone, "carbon_water_extract").value.unwrap();
    assert!((value - 400.0 / 35.0).abs() < 1e-6, "{value}");
}

#[test]
fn limits_stand_by_severity_gate_or_not() {
    let zone = Made::one()
        .sound()
        .with(CarbonNitrogenRatio, &[15.0])
        .with(Ph, &[5.0])
        .diagnosed()
        .remove(0);
    let limits: Vec<Factor> = zone.limits().map(|finding| finding.factor).collect();
    assert_eq!(limits, [Factor::Acidity, Factor::Carbon]);
    assert!(zone.findings[0].severity > zone.findings[1].severity);
}

#[test]
fn a_factor_limits_once_by_its_most_severe_rule() {
    let zone = one(SodiumSaturation, "calculated", "0-6 in", "%", 25.0);
    let limits: Vec<&str> = zone.limits().map(|finding| finding.rule.as_str()).collect();
    // Structure: 0.5 at most; sodic: 0.5 + 0.5 x (25 - 15) / (30 - 15) = 0.83.
    assert_eq!(limits, ["sodium_exchangeable"]);
    assert!((zone.findings[0].severity - 5.0 / 6.0).abs() < 1e-6);
    assert_eq!(
        zone.findings
            .iter()
            .filter(|finding| finding.outcome == Outcome::Limiting)
            .count(),
        2
    );
}

#[test]
fn severity_runs_from_the_threshold_to_the_worst_value() {
    let severity = |ph| finding(&one(Ph, "water", "0-6 in", "pH", ph), "acidity").severity;
    // Threshold 6.0, worst 5.0, straight.
    for (ph, wanted) in [(6.0, 0.0), (5.5, 0.5), (5.25, 0.75), (5.0, 1.0), (4.2, 1.0)] {
        assert!(
            (severity(ph) - wanted).abs() < 1e-6,
            "pH {ph}: {} is not {wanted}",
            severity(ph)
        );
    }
}

#[test]
fn confidence_is_the_normal_probability_of_being_past() {
    // Standard normal distribution: 0.8413 at one standard error, 0.9772 at two, 0.1587 at one on the other side (printed tables).
    for (ph, wanted) in [(5.94, 0.8413), (5.88, 0.9772), (6.06, 0.1587), (6.0, 0.5)] {
        // A standard_error of 1 % of the value in each cell, one core for the whole field: the mean is no surer than a cell.
        let made =
            Made::one().doubtful_layer(key(Ph, "water", "0-6 in"), "pH", &[ph], 0.06 / ph, 1);
        let zone = made.diagnosed().remove(0);
        let confidence = finding(&zone, "acidity").confidence;
        assert!(
            (confidence - wanted).abs() < 2e-4,
            "pH {ph}: {confidence} is not {wanted}"
        );
    }
}

#[test]
fn thin_evidence_says_so() {
    let made = Made::one().doubtful_layer(key(Ph, "water", "0-6 in"), "pH", &[5.5], 0.01, 2);
    let cautions = finding(&made.diagnosed()[0], "acidity").cautions.join("; ");
    assert!(cautions.contains("rests on 2 observations"), "{cautions}");
    let made = Made::one().flat_layer(key(Ph, "water", "0-6 in"), "pH", 5.5, 0.3);
    let cautions = finding(&made.diagnosed()[0], "acidity").cautions.join("; ");
    assert!(
        cautions.contains("no map is drawn") && cautions.contains("no observation lies inside"),
        "{cautions}"
    );
}

#[test]
fn the_mean_of_a_zone_is_weighted_by_the_workable_share_of_its_cells() {
    let mut made = Made::one().cell_layer(key(Ph, "water", "0-6 in"), "pH", |cell| {
        if cell == 0 { 5.0 } else { 7.0 }
    });
    made.field.grid.share = vec![0.125; 16];
    made.field.grid.share[0] = 1.0;
    // (1 x 5 + 15 x 0.125 x 7) / (1 + 1.875) = 18.125 / 2.875.
    let zone = made.diagnosed().remove(0);
    assert!((zone.profile[0].mean - 18.125 / 2.875).abs() < 1e-6);
    assert_eq!(zone.profile[0].range, (5.0, 7.0));
}

#[test]
fn a_hard_layer_is_placed_and_told_apart_from_a_tight_surface() {
    // 300 psi is crossed half way from 6 to 9 in (7.5), and 120/170 of the way from 12 to 15 in (14.1).
    let pan: &[f64] = &[80.0, 100.0, 250.0, 350.0, 420.0, 250.0];
    let open: &[f64] = &[80.0, 100.0, 120.0, 140.0, 150.0, 160.0];
    let tight: &[f64] = &[180.0, 220.0, 210.0, 180.0, 160.0, 160.0];
    let made = Made::new(&[1.0, 1.0, 1.0]).pushes(&[&[pan; 4], &[open; 4], &[tight; 4]], FC);
    let zones = made.diagnosed();
    let of = |zone: usize| zones.iter().find(|found| found.zone == zone).unwrap();
    let layer = finding(of(0), "air_hard_layer");
    assert_eq!(layer.outcome, Outcome::Limiting);
    assert!(
        layer.sentence.contains("from 7.5 in to 14.1 in")
            && layer.sentence.contains("4 of 4 pushes"),
        "{}",
        layer.sentence
    );
    assert!(of(1).limits().next().is_none());
    assert_eq!(finding(of(2), "air_surface").outcome, Outcome::Limiting);
    assert_eq!(finding(of(2), "air_hard_layer").outcome, Outcome::Adequate);
    let surface = finding(of(2), "air_surface");
    assert!(
        surface.sentence.contains("220 psi") && surface.sentence.contains("150 psi"),
        "{}",
        surface.sentence
    );
}

#[test]
fn half_the_pushes_above_the_limit_is_not_past_half() {
    // Duiker 2002 as remembered: 50 % begins "moderate"; our rule is past its threshold above 50 %.
    let (hard, soft): (&[f64], &[f64]) = (&[100.0, 350.0], &[100.0, 120.0]);
    let zone = Made::one()
        .pushes(&[&[hard, hard, soft, soft]], FC)
        .diagnosed()
        .remove(0);
    let found = finding(&zone, "air_hard_layer");
    assert_eq!(
        (found.outcome, found.value),
        (Outcome::Adequate, Some(50.0))
    );
    assert!((found.confidence - 0.5).abs() < 1e-9);
    let zone = Made::one()
        .pushes(&[&[hard, hard, hard, soft]], FC)
        .diagnosed()
        .remove(0);
    let found = finding(&zone, "air_hard_layer");
    assert_eq!((found.outcome, found.severity), (Outcome::Limiting, 0.5));
}

#[test]
fn cone_readings_of_dry_soil_or_without_a_note_carry_a_caution() {
    let tight: &[f64] = &[200.0];
    for (note, word) in [(Some("very dry"), "upper bounds"), (None, "not noted")] {
        let zone = Made::one()
            .pushes(&[&[tight; 4]], note)
            .diagnosed()
            .remove(0);
        let cautions = finding(&zone, "air_surface").cautions.join("; ");
        assert!(cautions.contains(word), "{cautions}");
    }
    let zone = Made::one().pushes(&[&[tight; 4]], FC).diagnosed().remove(0);
    assert!(finding(&zone, "air_surface").cautions.is_empty());
}

#[test]
fn pressures_are_spoken_in_the_plans_units() {
    let tight: &[f64] = &[200.0];
    let made = Made::one()
        .pushes(&[&[tight; 4]], FC)
        .settings(|settings| settings.units = UnitSystem::Metric);
    let found = finding(&made.diagnosed()[0], "air_surface").clone();
    assert_eq!(found.unit, "kPa");
    assert!(
        (found.threshold - 1_034.2).abs() < 0.1 && (found.value.unwrap() - 1_379.0).abs() < 0.1
    );
    assert!(
        found.sentence.contains("1380 kPa") && found.sentence.contains("1030 kPa"),
        "{}",
        found.sentence
    );
}

#[test]
fn calcium_is_judged_in_the_top_two_inches_where_they_are_sampled() {
    let made = Made::one()
        .layer(key(CalciumSaturation, "calculated", "0-6 in"), "%", &[70.0])
        .layer(key(CalciumSaturation, "calculated", "0-2 in"), "%", &[55.0]);
    let zone = made.diagnosed().remove(0);
    let found = finding(&zone, "calcium_saturation");
    assert_eq!(found.outcome, Outcome::Limiting);
    assert!(found.sentence.contains("0-2 in"), "{}", found.sentence);
}

#[test]
fn calcium_is_not_judged_on_free_lime() {
    let zone = Made::one()
        .sound()
        .with(Ph, &[7.6])
        .with(CalciumSaturation, &[50.0])
        .diagnosed()
        .remove(0);
    let found = finding(&zone, "calcium_saturation");
    assert_eq!(found.outcome, Outcome::NotComparable);
    assert!(found.sentence.contains("free lime"), "{}", found.sentence);
}

fn in_tri_state(made: &Made) -> ZoneDiagnosis {
    let rulebook = Rulebook::of_region("tri-state").expect("a region");
    made.diagnosis(&rulebook).zones.remove(0)
}

#[test]
fn the_potassium_level_follows_the_exchange_capacity() {
    for (cec, rule, outcome) in [
        (4.0, "potassium_mehlich_3_light", Outcome::Adequate),
        (12.0, "potassium_mehlich_3", Outcome::Limiting),
    ] {
        let made = Made::one()
            .layer(key(Potassium, "mehlich-3", "0-6 in"), "ppm", &[110.0])
            .layer(
                key(CationExchangeCapacity, "sum", "0-6 in"),
                "meq/100 g",
                &[cec],
            );
        let zone = in_tri_state(&made);
        assert_eq!(finding(&zone, rule).outcome, outcome);
        assert_eq!(
            zone.findings
                .iter()
                .filter(|finding| finding.factor == Factor::Potassium)
                .count(),
            1
        );
    }
}

#[test]
fn a_threshold_may_differ_by_crop() {
    let made = Made::one().layer(key(Phosphorus, "mehlich-3", "0-6 in"), "ppm", &[25.0]);
    assert_eq!(
        finding(&in_tri_state(&made), "phosphorus_mehlich_3").outcome,
        Outcome::Adequate
    );
    let made = made.settings(|settings| settings.crop = "wheat".into());
    let zone = in_tri_state(&made);
    assert_eq!(
        finding(&zone, "phosphorus_mehlich_3").outcome,
        Outcome::Limiting
    );
    assert_eq!(finding(&zone, "phosphorus_mehlich_3").threshold, 30.0);
}

#[test]
fn zones_are_numbered_by_their_most_severe_first_limit_and_ties_by_area() {
    let made = Made::new(&[1.0, 2.0, 3.0, 4.0]).layer(
        key(Ph, "water", "0-6 in"),
        "pH",
        &[6.5, 5.8, 5.2, 6.5],
    );
    let order: Vec<(u32, usize)> = made
        .diagnosed()
        .iter()
        .map(|zone| (zone.number, zone.zone))
        .collect();
    assert_eq!(order, [(1, 2), (2, 1), (3, 3), (4, 0)]);
}

#[test]
fn every_finding_carries_its_source() {
    let zone = Made::one().sound().with(Ph, &[5.2]).diagnosed().remove(0);
    assert!(
        zone.findings
            .iter()
            .all(|finding| !finding.source.is_empty() && !finding.sentence.is_empty()),
        "{:#?}",
        zone.findings
    );
}

#[test]
fn an_unknown_crop_is_named_with_the_nearest() {
    let made = Made::one().settings(|settings| settings.crop = "soybaen".into());
    let errors = diagnose(
        &made.settings,
        &made.field,
        &made.surfaces,
        &made.zones,
        &Rulebook::built_in(),
    )
    .expect_err("no such crop");
    assert!(
        matches!(errors.as_slice(), [DiagnosisError::UnknownCrop { .. }]),
        "{errors:?}"
    );
    let text = errors[0].to_string();
    assert!(
        text.contains("did you mean \"soybean\"?") && text.contains("plan.toml, key crop"),
        "{text}"
    );
}

#[test]
fn zones_of_another_field_are_refused_with_all_that_is_wrong() {
    let mut made = Made::one()
        .sound()
        .settings(|settings| settings.crop = "rice".into());
    made.zones.of_cell.pop();
    made.zones.of_cell[0] = 9;
    let errors = diagnose(
        &made.settings,
        &made.field,
        &made.surfaces,
        &made.zones,
        &Rulebook::built_in(),
    )
    .expect_err("another field");
    assert_eq!(errors.len(), 3, "{errors:?}");
}
