//! Stage tests: manganese by its availability, iron by pH and carbonates, and what there is too much of.

use lowstave::analyte::Analyte::{self, *};
use lowstave::diagnosis::{Finding, Outcome};
use lowstave::plan::Shed;
use lowstave::rulebook::{Factor, Rulebook};

use crate::made_zones::{Made, find, key, rate};

fn with(analyte: Analyte, method: &str, unit: &str, value: f64) -> Made {
    Made::one()
        .sound()
        .layer(key(analyte, method, "0-6 in"), unit, &[value])
}

fn found(made: &Made, factor: Factor) -> Option<Finding> {
    let zone = made.diagnosed().remove(0);
    zone.findings
        .into_iter()
        .find(|finding| finding.factor == factor)
}

/// Rutgers NJAES, Relative levels of nutrients: 101.7 + 3.75 Mn - 15.2 pH, short below 25. At pH 6.6 and 5 ppm: 20.13; 7 ppm: 27.63. At pH 5.5
/// 5 ppm are enough: 36.85.
#[test]
fn manganese_is_judged_by_how_much_the_ph_lets_the_crop_have() {
    let short = found(&with(Manganese, "mehlich-3", "ppm", 5.0), Factor::Manganese).expect("it");
    assert_eq!(short.outcome, Outcome::Limiting);
    assert!(
        (short.value.expect("a value") - 20.13).abs() < 0.01,
        "{short:?}"
    );
    assert!(
        short
            .sentence
            .contains("5 ppm at pH 6.6: its availability index is 20.1"),
        "{}",
        short.sentence
    );
    let enough = found(&with(Manganese, "mehlich-3", "ppm", 7.0), Factor::Manganese).expect("it");
    assert_eq!(enough.outcome, Outcome::Adequate);
    let acid = with(Manganese, "mehlich-3", "ppm", 5.0).with(Ph, &[5.5]);
    assert_eq!(
        found(&acid, Factor::Manganese).expect("it").outcome,
        Outcome::Adequate
    );
    assert!(found(&Made::one().sound(), Factor::Manganese).is_none());
}

/// Broadcast manganese is fixed at once (Michigan State University): without a region that gives a rate it is fed through the leaf.
#[test]
fn manganese_goes_through_the_leaf_or_by_the_regions_pounds() {
    let made = with(Manganese, "mehlich-3", "ppm", 3.0);
    let zone = made.prescribed().zones.remove(0);
    assert!(zone.fixes.iter().any(|fix| fix.name == "manganese_foliar"));
    assert!(find(&zone, "manganese_sulfate").is_none_or(|rate| rate.amount.is_zero()));
    // North Carolina, notes to table 2.3: 10 lb; at 31 % of manganese 32.3 lb of the sulfate, 30 by the controller's step.
    let rulebook = Rulebook::of_region("north-carolina").expect("a region");
    let made = made.settings(|settings| {
        settings.supply.region = Some("north-carolina".into());
        settings.supply.shed = Some(Shed {
            products: vec!["manganese_sulfate".into()],
            ..Shed::default()
        });
    });
    let zone = made.prescribed_by(&rulebook).zones.remove(0);
    assert!(
        (rate(&zone, "manganese_sulfate") - 30.0).abs() < 1e-6,
        "{:?}",
        zone.rates
    );
    assert!(!zone.fixes.iter().any(|fix| fix.name == "manganese_foliar"));
}

/// From memory, so only that the words follow: soybean yellows on carbonates, corn is not asked; where the laboratory found none, a high pH alone
/// says nothing of iron.
#[test]
fn soybean_yellows_by_carbonates_and_not_by_ph_alone_where_there_are_none() {
    let on = |crop: &str, ph: f64, carbonates: Option<f64>| {
        let made = Made::one().sound().with(Ph, &[ph]);
        let made = match carbonates {
            Some(share) => made.layer(key(Carbonates, "", "0-6 in"), "%", &[share]),
            None => made,
        };
        let made = made.settings(|settings| settings.crop = crop.into());
        found(&made, Factor::Iron).map(|finding| (finding.rule, finding.outcome))
    };
    let limiting = |rule: &str| Some((rule.to_owned(), Outcome::Limiting));
    assert_eq!(on("soybean", 7.2, Some(12.0)), limiting("iron_carbonates"));
    assert_eq!(on("soybean", 7.9, None), limiting("iron_chlorosis"));
    assert_eq!(on("corn", 7.9, Some(12.0)), None);
    let none = on("soybean", 7.9, Some(0.1)).expect("a word");
    assert_ne!(none.1, Outcome::Limiting, "{none:?}");
}

#[test]
fn too_much_is_a_finding_and_brings_no_more_of_it() {
    let cases = [
        (Phosphorus, "bray-1", 120.0, 90.0, Factor::PhosphorusExcess),
        (
            Phosphorus,
            "mehlich-3",
            120.0,
            90.0,
            Factor::PhosphorusExcess,
        ),
        (
            Phosphorus,
            "mehlich-3-icp",
            120.0,
            90.0,
            Factor::PhosphorusExcess,
        ),
        (Phosphorus, "olsen", 80.0, 60.0, Factor::PhosphorusExcess),
        (Boron, "mehlich-3", 25.0, 15.0, Factor::BoronExcess),
        (Boron, "hot-water", 6.0, 4.0, Factor::BoronExcess),
    ];
    for (analyte, method, past, not_past, factor) in cases {
        let one =
            |value| Made::one().layer(key(analyte.clone(), method, "0-6 in"), "ppm", &[value]);
        assert_eq!(
            found(&one(past), factor).expect("it").outcome,
            Outcome::Limiting,
            "{method}"
        );
        assert_eq!(
            found(&one(not_past), factor).expect("it").outcome,
            Outcome::Adequate,
            "{method}"
        );
    }
    let rich = Made::one()
        .sound()
        .with(Phosphorus, &[150.0])
        .with(CarbonNitrogenRatio, &[10.0]);
    let zone = rich.prescribed().zones.remove(0);
    assert_eq!(rate(&zone, "compost"), 0.0);
    assert!(
        zone.fixes
            .iter()
            .any(|fix| fix.name == "count_the_phosphorus")
    );
}
