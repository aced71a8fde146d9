//! What a reader found who had not seen the code: states that were called known, and orders that stood in each other's way.

use lowstave::analyte::Analyte::*;
use lowstave::diagnosis::{Finding, NotKnown, Outcome};
use lowstave::rulebook::{Factor, Rulebook};

use crate::caps::{pounds, said};
use crate::made_zones::{Made, find, key, rate};

fn of_factor(made: &Made, factor: Factor) -> Vec<Finding> {
    let zone = made.diagnosis(&Rulebook::built_in()).zones.remove(0);
    let findings = zone.findings.into_iter();
    findings
        .filter(|finding| finding.factor == factor)
        .collect()
}

/// Sodic cores whose saturation was left out: the mean of the other cores says nothing of them.
#[test]
fn the_mean_of_other_cores_does_not_stand_for_cores_that_lack_the_value() {
    let others =
        |made: Made| made.flat_layer(key(SodiumSaturation, "calculated", "0-6 in"), "%", 0.7, 0.1);
    let tested_for_other_things =
        others(Made::one().layer(key(Ph, "water", "0-6 in"), "pH", &[8.5]));
    let sodium = of_factor(&tested_for_other_things, Factor::Sodium);
    assert!(
        sodium
            .iter()
            .all(|finding| finding.outcome != Outcome::Adequate),
        "{sodium:?}"
    );
    // Ground without any core of its own has nothing but the field's mean.
    let sodium = of_factor(&others(Made::one()), Factor::Sodium);
    assert!(
        sodium
            .iter()
            .any(|finding| finding.outcome == Outcome::Adequate),
        "{sodium:?}"
    );
}

/// Calcium at 50 % of the places: gypsum, where the ground is known not to be acid; nothing, where the method of its pH is not named.
#[test]
fn gypsum_for_calcium_waits_until_it_is_known_whether_the_ground_is_acid() {
    let short = |ph: lowstave::analyte::LayerKey, value: f64| {
        Made::one()
            .layer(ph, "pH", &[value])
            .layer(
                key(CationExchangeCapacity, "calculated", "0-6 in"),
                "meq/100 g",
                &[12.0],
            )
            .layer(key(CalciumSaturation, "calculated", "0-6 in"), "%", &[50.0])
            .prescribed()
            .zones
            .remove(0)
    };
    let named = short(key(Ph, "water", "0-6 in"), 6.4);
    assert!(rate(&named, "gypsum") > 0.0, "{:?}", find(&named, "gypsum"));
    let mut unnamed = key(Ph, "water", "0-6 in");
    unnamed.method = None;
    // 5.7 in a salt solution would be up to 7.2 in water.
    let unnamed = short(unnamed, 5.7);
    assert!(rate(&unnamed, "gypsum") <= 0.0);
    let note = find(&unnamed, "gypsum").and_then(|rate| rate.note.clone());
    assert!(note.is_some_and(|note| note.contains("whether the ground is acid is not known")));
    // The rule for organic soil does not hide that the one for this soil waits for its test.
    let unknown: Vec<_> = unnamed.not_known.iter().map(NotKnown::line).collect();
    assert!(
        unknown
            .iter()
            .any(|line| line.starts_with("acidity: tested, but the plan does not name the method")),
        "{unknown:?}"
    );
}

/// Naming a method costs nothing: it stands before all samples, once for all results, and no second pH is asked for.
#[test]
fn methods_that_nobody_names_are_asked_for_first_and_once() {
    let mut ph = key(Ph, "water", "0-6 in");
    ph.method = None;
    let mut potassium = key(Potassium, "mehlich-3", "0-6 in");
    potassium.method = None;
    let prescription = Made::one()
        .layer(ph, "pH", &[5.4])
        .layer(potassium, "ppm", &[95.0])
        .prescribed();
    let first = &prescription.test_first[0];
    assert_eq!(
        first.test,
        "Name the test method of pH and potassium in the plan (the laboratory's sheet says it)"
    );
    assert!(
        first.decides.contains("acidity") && first.decides.contains("potassium"),
        "{first:?}"
    );
    assert_eq!(first.dollars_a_sample, None);
    let again = prescription
        .test_first
        .iter()
        .filter(|test| test.test.contains("pH in water"));
    assert_eq!(again.count(), 0, "{:?}", prescription.test_first);
}

/// Limits are for 0-6 or 0-8 in. 20 cm are 8 in, 9 in are near enough and told, 12 in are not.
#[test]
fn another_depth_than_the_limits_is_told_or_refused() {
    let of_depth = |depth: &str| {
        let made = Made::one().layer(key(Phosphorus, "mehlich-3", depth), "ppm", &[9.0]);
        let found = of_factor(&made, Factor::Phosphorus);
        let settled = found.iter().find(|finding| finding.is_settled()).cloned();
        settled.map(|finding| finding.cautions.join("; "))
    };
    for same in ["0-6 in", "0-8 in", "0-20 cm", "0-15 cm"] {
        let cautions = of_depth(same).expect("judged");
        assert!(!cautions.contains("sampled"), "{same}: {cautions}");
    }
    let near = of_depth("0-9 in").expect("judged");
    assert!(
        near.contains("sampled 0-9 in; the limit is for 0-8 in"),
        "{near}"
    );
    let near = of_depth("0-7 in").expect("judged");
    assert!(
        near.contains("sampled 0-7 in; the limit is for 0-"),
        "{near}"
    );
    assert_eq!(of_depth("0-12 in"), None);
    assert_eq!(of_depth("6-12 in"), None);
}

/// Rock beside lime is refused, and what is refused takes nothing from the phosphate that all products may bring together.
#[test]
fn a_refused_product_takes_nothing_from_a_shared_cap() {
    let made = |products: &[(&str, &str)]| {
        let words: Vec<_> = products
            .iter()
            .map(|(name, rate)| said(name, pounds(rate), false))
            .collect();
        Made::one()
            .layer(key(Ph, "water", "0-6 in"), "pH", &[5.4])
            .layer(key(Phosphorus, "mehlich-3", "0-6 in"), "ppm", &[5.0])
            .settings(|settings| settings.overrides = words)
            .prescribed()
            .zones
            .remove(0)
    };
    let alone = made(&[("lime", "3000 lb/ac"), ("bone_meal", "480 lb/ac")]);
    let beside = made(&[
        ("lime", "3000 lb/ac"),
        ("phosphate_rock", "1000 lb/ac"),
        ("bone_meal", "480 lb/ac"),
    ]);
    assert!(rate(&alone, "bone_meal") > 0.0 && rate(&beside, "phosphate_rock") <= 0.0);
    assert!((rate(&alone, "bone_meal") - rate(&beside, "bone_meal")).abs() < 1e-9);
}
