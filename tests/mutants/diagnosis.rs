//! Numbers of a zone by hand.

use lowstave::analyte::Analyte::*;
use lowstave::diagnosis::diagnose;
use lowstave::diagnosis::{Finding, Outcome};
use lowstave::rulebook::Factor;
use lowstave::rulebook::Rulebook;
use lowstave::units::{KILOPASCALS_PER_PSI, UnitSystem};

use crate::made_zones::{Made, key};

fn close(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() < 1e-5 * wanted.abs().max(1.0),
        "{found} is not {wanted}"
    );
}

fn finding(made: &Made, factor: Factor) -> Finding {
    let zone = made.diagnosed().remove(0);
    let found = zone
        .findings
        .iter()
        .find(|f| f.factor == factor && matches!(f.outcome, Outcome::Limiting | Outcome::Adequate));
    found
        .unwrap_or_else(|| panic!("{:#?}", zone.findings))
        .clone()
}

/// Sixteen cells of a zone, alike in size: 5, 6, 7 and 9 four times each. The mean is 6.75, the spread sqrt((25 + 36 + 49 + 81) / 4 - 6.75²)
/// = sqrt(2.1875). The second zone has 100 and 104: 102 and 2.
#[test]
fn mean_and_spread_of_a_zone_are_those_of_its_cells() {
    let made = Made::new(&[10.0, 10.0]).cell_layer(
        key(Phosphorus, "mehlich-3", "0-6 in"),
        "ppm",
        |cell| {
            if cell < 16 {
                [5.0, 6.0, 7.0, 9.0][cell % 4]
            } else {
                [100.0, 104.0][cell % 2]
            }
        },
    );
    let mut found: Vec<(f64, f64, (f64, f64))> = (made.diagnosed().iter())
        .map(|zone| &zone.profile[0])
        .map(|layer| (layer.mean, layer.spread, layer.range))
        .collect();
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    close(found[0].0, 6.75);
    close(found[0].1, 2.1875_f64.sqrt());
    assert_eq!(found[0].2, (5.0, 9.0));
    close(found[1].0, 102.0);
    close(found[1].1, 2.0);
    assert_eq!(found[1].2, (100.0, 104.0));
}

/// A 1:1 extract at 0.2 dS/m: 0.32 to 0.67 in the paste (1.6 and 3.35 times the reading, the rulebook's own bounds), which harms nothing.
#[test]
fn the_upper_bound_of_a_diluted_extract_is_told_as_at_most() {
    let made = Made::one().layer(key(ElectricalConductivity, "1:1", "0-6 in"), "dS/m", &[0.2]);
    let found = finding(&made, Factor::Salt);
    assert_eq!(found.outcome, Outcome::Adequate);
    close(found.value.unwrap(), 0.67);
    assert!(
        found.sentence.contains("at most 0.67"),
        "{}",
        found.sentence
    );
    assert!(found.sentence.contains("0.2 dS/m"), "{}", found.sentence);
}

/// Calcium chloride at 4.3 bounds pH in water by 5.5: as sure as a reading of 5.5 in water that is known as well.
#[test]
fn a_bound_is_as_sure_as_a_reading_at_it() {
    let confidence = |method: &str, ph: f64| {
        let made = Made::one().doubtful_layer(key(Ph, method, "0-6 in"), "pH", &[ph], 0.3 / ph, 4);
        let found = finding(&made, Factor::Acidity);
        assert_eq!(found.outcome, Outcome::Limiting);
        found.confidence
    };
    let (bound, reading) = (confidence("cacl2", 4.3), confidence("water", 5.5));
    close(bound, reading);
    assert!(reading > 0.6 && reading < 0.999, "{reading}");
}

/// Fewer than three observations in a zone are told; three are not.
#[test]
fn few_observations_are_told_by_their_number() {
    let cautions = |cores: usize| {
        let layer = key(Phosphorus, "mehlich-3", "0-6 in");
        let made = Made::one().doubtful_layer(layer, "ppm", &[5.0], 0.01, cores);
        finding(&made, Factor::Phosphorus).cautions.join("; ")
    };
    assert!(cautions(0).contains("no observation lies inside this zone"));
    assert!(cautions(1).contains("rests on one observation inside this zone"));
    assert!(cautions(2).contains("rests on 2 observations inside this zone"));
    assert!(!cautions(3).contains("inside this zone"));
}

fn of_rule(made: &Made, rule: &str) -> Finding {
    let zone = made.diagnosed().remove(0);
    zone.finding(rule)
        .unwrap_or_else(|| panic!("{rule}: {:#?}", zone.findings))
        .clone()
}

/// Organic matter below 5 % lets the rule on calcium hold. Of depths within 23 cm the deepest tells, else the shallowest below them:
/// 0-9 in is 22.9 cm, 0-9.3 in is 23.6 cm. In each pair the one that tells reads 1 % and the other 9 %.
#[test]
fn of_several_depths_the_deepest_in_the_topsoil_tells() {
    let rules = "[rule.calcium_saturation.only_where.lean]\nanalyte = \"organic_matter\"\nside = \"below\"\nvalue = 5\nunit = \"%\"\n\
         if_unknown = true\nwhy = \"a test\"\nbasis = \"own\"\nsource = \"a test\"\n";
    let rulebook = Rulebook::from_text(rules, "mine.toml").expect("rules");
    for (tells, other) in [
        ("0-8 in", "0-6 in"),
        ("0-9 in", "0-6 in"),
        ("0-6 in", "0-9.3 in"),
        ("0-6 in", "0-12 in"),
        ("0-12 in", "0-18 in"),
    ] {
        let made = Made::one()
            .layer(key(CalciumSaturation, "calculated", "0-6 in"), "%", &[50.0])
            .layer(key(OrganicMatter, "loi", tells), "%", &[1.0])
            .layer(key(OrganicMatter, "loi", other), "%", &[9.0]);
        let zone = made.diagnosis(&rulebook).zones.remove(0);
        let found = zone.finding("calcium_saturation").expect("it");
        assert_eq!(found.outcome, Outcome::Limiting, "{tells}, not {other}");
    }
}

/// A mapped layer without a core in the zone beside another one with cores, and a flat one with its own cores.
#[test]
fn a_value_that_is_not_borrowed_counts() {
    let phosphorus = || key(Phosphorus, "mehlich-3", "0-6 in");
    let made = Made::one()
        .cell_layer(key(Ph, "water", "0-6 in"), "pH", |_| 5.5)
        .layer(phosphorus(), "ppm", &[40.0]);
    assert_eq!(of_rule(&made, "acidity").outcome, Outcome::Limiting);
    let mut made = Made::one().layer(phosphorus(), "ppm", &[40.0]).flat_layer(
        key(Ph, "water", "0-6 in"),
        "pH",
        5.5,
        0.1,
    );
    let mut own = made.field.layers[0].clone();
    own.key = key(Ph, "water", "0-6 in");
    own.values = vec![5.5; own.values.len()];
    made.field.layers.push(own);
    assert_eq!(of_rule(&made, "acidity").outcome, Outcome::Limiting);
}

/// 3,000 ppm and 5,000 kPa are greater numbers than 200 psi (1,379 kPa), and neither is a mark of the profile.
#[test]
fn only_the_cone_profile_is_the_tightest_mark() {
    let tight: &[f64] = &[200.0];
    let made = Made::one()
        .pushes(&[&[tight; 4]], Some("field capacity"))
        .layer(key(Calcium, "mehlich-3", "0-6 in"), "ppm", &[3_000.0])
        .layer(key(ConeIndex, "average", "0-6 in"), "kPa", &[5_000.0]);
    let found = of_rule(&made, "air_surface");
    assert_eq!(found.outcome, Outcome::Limiting);
    close(found.value.unwrap(), 200.0);
}

/// 1,000 and 1,400 kPa in turn: 1,200 and 200 kPa, 29.0 psi. 1,100 kPa with an error of 110 beside 150 psi (1,034.2 kPa): 0.598 errors, 0.7251.
#[test]
fn spread_and_confidence_of_a_pressure_are_converted() {
    let profile = || key(ConeIndex, "profile", "0-6 in");
    let made = Made::one().cell_layer(profile(), "kPa", |cell| [1_000.0, 1_400.0][cell % 2]);
    let found = of_rule(&made, "air_surface");
    close(found.spread.unwrap(), 200.0 / KILOPASCALS_PER_PSI);
    let made = made.settings(|settings| settings.units = UnitSystem::Metric);
    close(of_rule(&made, "air_surface").spread.unwrap(), 200.0);
    let made = Made::one().doubtful_layer(profile(), "kPa", &[1_100.0], 0.1, 1);
    let confidence = of_rule(&made, "air_surface").confidence;
    assert!((confidence - 0.7251).abs() < 5e-4, "{confidence}");
}

/// 101.7 + 3.75 x 5 - 15.2 x 6.6 = 20.13. An error of 0.5 ppm moves it by 1.875, one of 0.066 by 1.003: 2.1265 together, so that 25 lies 2.290
/// errors off, 0.9890. Another depth and another method have no say; the fewer observations count.
#[test]
fn the_availability_of_manganese_by_hand() {
    let made = Made::one()
        .doubtful_layer(key(Manganese, "mehlich-3", "0-6 in"), "ppm", &[5.0], 0.1, 1)
        .doubtful_layer(key(Ph, "water", "0-6 in"), "pH", &[6.6], 0.01, 3)
        .layer(key(Ph, "water", "0-2 in"), "pH", &[8.0])
        .layer(key(Ph, "cacl2", "0-6 in"), "pH", &[5.2])
        .layer(key(Phosphorus, "mehlich-3", "0-6 in"), "ppm", &[4.0]);
    let found = of_rule(&made, "manganese_mehlich_3");
    close(found.value.unwrap(), 20.13);
    assert!(
        (found.confidence - 0.989).abs() < 2e-4,
        "{}",
        found.confidence
    );
    assert_eq!(found.cores, 1);
}

fn salt(crop: &str, method: &str, reading: f64) -> Finding {
    let made = Made::one()
        .layer(
            key(ElectricalConductivity, method, "0-6 in"),
            "dS/m",
            &[reading],
        )
        .settings(|settings| settings.crop = crop.into());
    let zone = made.diagnosed().remove(0);
    let mut findings = zone.findings.into_iter();
    findings.find(|f| f.factor == Factor::Salt).expect("salt")
}

/// Barley bears 8 dS/m, and what carries salt is closed from 4. 1:1 at 3 dS/m is 4.8 to 10.05 in the paste: past 4 for certain, past 8 or not.
#[test]
fn a_reading_past_the_gate_for_certain_closes_it() {
    let found = salt("barley", "1:1", 3.0);
    assert_eq!(found.outcome, Outcome::NotComparable, "{found:?}");
    assert!(found.closes_product("salt-carrying"), "{found:?}");
    assert!(found.sentence.contains("for certain"), "{}", found.sentence);
}

/// A C:N of all carbon and nitrogen tells nothing of that of the water extract.
#[test]
fn a_reading_that_settles_nothing_closes_nothing() {
    let made = Made::one().layer(
        key(CarbonNitrogenRatio, "combustion", "0-6 in"),
        "ratio",
        &[10.5],
    );
    let zone = made.diagnosed().remove(0);
    assert!(
        zone.findings.iter().all(|f| !f.is_closing),
        "{:#?}",
        zone.findings
    );
    let made = Made::one().layer(key(Ph, "cacl2", "0-6 in"), "pH", &[5.5]);
    let zone = made.diagnosed().remove(0);
    assert!(
        zone.findings.iter().all(|f| !f.is_closing),
        "{:#?}",
        zone.findings
    );
}

/// 1:1 at 2 dS/m is at most 6.7: (6.7 - 4) / (12 - 4) of the way, three tenths of which count. pH 5.5 in calcium chloride may be 5.5 in water,
/// half way from 6 to 5.
#[test]
fn the_severity_that_a_reading_leaves_possible() {
    close(salt("oats", "1:1", 2.0).possible_severity, 2.7 / 8.0 * 0.3);
    let made = Made::one().layer(key(Ph, "cacl2", "0-6 in"), "pH", &[5.5]);
    close(of_rule(&made, "acidity").possible_severity, 0.5 * 0.3);
}

/// C:N is disputed: not more than 0.5 of it can be found, and three tenths of that count.
#[test]
fn a_disputed_rule_leaves_no_more_possible_than_it_may_find() {
    let made = Made::one().layer(key(Ph, "water", "0-6 in"), "pH", &[6.5]);
    close(
        of_rule(&made, "carbon_water_extract").possible_severity,
        0.5 * 0.3,
    );
}

/// 27 ppm lies 9 of 31 ppm from 36 to the worst value of 5.
#[test]
fn the_severity_between_the_states() {
    let made = Made::one().layer(key(Phosphorus, "mehlich-3", "0-6 in"), "ppm", &[27.0]);
    let found = of_rule(&made, "phosphorus_mehlich_3");
    close(found.possible_severity, 9.0 / 31.0 * 0.3);
    close(found.value.unwrap(), 27.0);
    close(found.spread.unwrap(), 0.0);
}

/// 306 psi is over 300 and 294 is under: three of four pushes.
#[test]
fn a_push_a_little_over_the_limit_is_hard_and_one_under_it_is_not() {
    let (over, under): (&[f64], &[f64]) = (&[100.0, 306.0], &[100.0, 294.0]);
    let made = Made::one().pushes(&[&[over, over, over, under]], Some("field capacity"));
    close(of_rule(&made, "air_hard_layer").value.unwrap(), 75.0);
}

/// Tight at 6 in, the very bottom of 0-6 in.
#[test]
fn a_mark_at_the_bottom_of_the_depth_has_its_say() {
    let push: &[f64] = &[100.0, 100.0, 200.0];
    let made = Made::one().pushes(&[&[push; 4]], Some("field capacity"));
    let found = of_rule(&made, "air_surface");
    assert_eq!(found.outcome, Outcome::Limiting);
    close(found.value.unwrap(), 200.0);
}

/// 1 dS/m with an error of 2: 90 % lie between -2.29 and 4.2898, which leaves corn 100 - 12 x (4.2898 - 1.7) = 68.92 to 100 %.
#[test]
fn an_uncertain_salt_reading_still_tells_the_yield() {
    let paste = key(ElectricalConductivity, "paste", "0-6 in");
    let made = Made::one().flat_layer(paste, "dS/m", 1.0, 2.0);
    let left = of_rule(&made, "salt").expected_yield.expect("a yield");
    assert!(
        (left.range.0 - 68.92).abs() < 0.01 && (left.range.1 - 100.0).abs() < 1e-9,
        "{left:?}"
    );
}

/// The gate of C:N is open though organic carbon is settled; phosphorus by Olsen is settled though Mehlich-3 lies between the states.
#[test]
fn an_open_gate_is_not_known_beside_a_settled_rule() {
    let has = |made: &Made, factor: Factor| {
        let zone = made.diagnosed().remove(0);
        zone.not_known.iter().any(|known| known.factor == factor)
    };
    let made = Made::one().layer(key(OrganicCarbon, "combustion", "0-6 in"), "%", &[0.4]);
    assert!(has(&made, Factor::Carbon));
    let made = Made::one()
        .layer(key(Phosphorus, "mehlich-3", "0-6 in"), "ppm", &[27.0])
        .layer(key(Phosphorus, "olsen", "0-6 in"), "ppm", &[20.0]);
    assert!(!has(&made, Factor::Phosphorus));
}

/// 1:1 at 2.03 dS/m is at most 6.8005, at 2.0 at most 6.7: the worse of two zones is told, whichever comes first.
#[test]
fn the_field_is_told_the_worst_zone() {
    for readings in [[2.0, 2.03], [2.03, 2.0], [2.0, 2.4], [2.4, 2.0]] {
        let made = Made::new(&[2.0, 1.0])
            .layer(
                key(ElectricalConductivity, "1:1", "0-6 in"),
                "dS/m",
                &readings,
            )
            .settings(|settings| settings.crop = "oats".into());
        let told = made.diagnosis(&Rulebook::built_in()).not_known;
        let salt = told
            .iter()
            .find(|known| known.factor == Factor::Salt)
            .expect("salt");
        let worst = readings[0].max(readings[1]) * 3.35;
        close(salt.possible_severity, (worst - 4.0) / 8.0 * 0.3);
        assert_eq!(salt.zones.len(), 2);
    }
}

fn errors(made: &Made) -> usize {
    let found = diagnose(
        &made.settings,
        &made.field,
        &made.surfaces,
        &made.zones,
        &Rulebook::built_in(),
    );
    found.map_or_else(|errors| errors.len(), |_| 0)
}

#[test]
fn a_zone_one_beyond_the_last_is_refused() {
    let mut made = Made::one().sound();
    assert_eq!(errors(&made), 0);
    made.zones.of_cell[3] = 1;
    assert_eq!(errors(&made), 1);
}

#[test]
fn a_map_of_another_length_is_refused() {
    let mut made = Made::one().layer(key(Ph, "water", "0-6 in"), "pH", &[6.5]);
    if let lowstave::surface::Map::Drawn { standard_error, .. } = &mut made.surfaces.surfaces[0].map
    {
        standard_error.pop();
    }
    assert_eq!(errors(&made), 1);
}

/// pH 5.8 is a published limit of severity 0.2; calcium, (65 - share) / 25, is disputed and held to 0.18: 40 % and 60.425 % (0.183) are, 60.625 % (0.175)
/// stays.
#[test]
fn a_disputed_severity_is_held_to_nine_tenths_exactly() {
    for (share, severity) in [(40.0, 0.18), (60.425, 0.18), (60.625, 0.175)] {
        let made = Made::one()
            .sound()
            .with(CalciumSaturation, &[share])
            .with(Ph, &[5.8]);
        let found = of_rule(&made, "calcium_saturation");
        assert!(
            (found.severity - severity).abs() < 1e-5,
            "{share}: {}",
            found.severity
        );
    }
}

#[test]
fn findings_stand_by_outcome() {
    let made = Made::one().sound().with(Ph, &[5.2]).layer(
        key(Phosphorus, "bray-2", "0-2 in"),
        "ppm",
        &[3.0],
    );
    let rank = |finding: &Finding| match finding.outcome {
        Outcome::Limiting => 0,
        Outcome::Adequate => 1,
        Outcome::NotComparable => 2,
        Outcome::NotMeasured => 3,
    };
    let zone = made.diagnosed().remove(0);
    let ranks: Vec<i32> = zone.findings.iter().map(rank).collect();
    assert!(
        ranks.is_sorted() && ranks.contains(&1) && ranks.contains(&3),
        "{ranks:?}"
    );
}

/// The worse limit comes first though its zone is the smaller.
#[test]
fn the_worst_first_limit_numbers_the_zones() {
    let made = Made::new(&[5.0, 1.0]).layer(key(Ph, "water", "0-6 in"), "pH", &[5.8, 5.2]);
    assert_eq!(made.diagnosed()[0].zone, 1);
}

/// 689.4757 kPa are 100 psi.
#[test]
fn a_cone_reading_by_another_method_is_told_in_psi() {
    let made = Made::one().layer(key(ConeIndex, "average", "0-6 in"), "kPa", &[689.475_7]);
    let zone = made.diagnosed().remove(0);
    let found = zone
        .findings
        .iter()
        .find(|f| f.factor == Factor::Air && f.value.is_some());
    let found = found.unwrap_or_else(|| panic!("{:#?}", zone.findings));
    assert_eq!(found.outcome, Outcome::NotComparable);
    close(found.value.unwrap(), 100.0);
    assert_eq!(found.unit, "psi");
}

#[test]
fn results_outside_the_range_of_the_test_are_counted() {
    let mut made = Made::one().layer(key(Phosphorus, "mehlich-3", "0-6 in"), "ppm", &[5.0]);
    made.field.layers[0]
        .qualified
        .push((1, lowstave::intake::Qualifier::BelowUnknown));
    let cautions = of_rule(&made, "phosphorus_mehlich_3").cautions.join("; ");
    assert!(
        cautions.contains("1 of the results lie outside"),
        "{cautions}"
    );
}
