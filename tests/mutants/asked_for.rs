//! Which tests are asked for, with what hangs on them, by hand; see docs/mutation-testing.md.

use lowstave::analyte::Analyte::*;
use lowstave::plan::Price;
use lowstave::rates::{Prescription, TestFirst};
use lowstave::rulebook::Rulebook;
use lowstave::units::MoneyPerVolume;

use crate::ground::{close, volume, with_words, without};
use crate::made_zones::{Made, key, quantity};

const ACRES_OF_10_HA: f64 = 24.710_54;

fn asked<'a>(prescription: &'a Prescription, decides: &str) -> Option<&'a TestFirst> {
    let mut tests = prescription.test_first.iter();
    tests.find(|test| test.decides == decides)
}

fn is_asked(made: &Made, decides: &str) -> bool {
    asked(&made.prescribed(), decides).is_some()
}

/// The surface is not acid where the topsoil has free lime, from pH 7.3 in water on.
#[test]
fn the_surface_is_asked_for_unless_the_topsoil_has_free_lime() {
    let surface = "whether surface acidity limits";
    for (ph, wanted) in [(6.6, true), (7.1, true), (7.5, false)] {
        let made = Made::one().layer(key(Ph, "water", "0-6 in"), "pH", &[ph]);
        assert_eq!(is_asked(&made, surface), wanted, "{ph}");
    }
    // Other factors are asked for on limy ground too.
    let made = Made::one().layer(key(Ph, "water", "0-6 in"), "pH", &[7.5]);
    assert!(is_asked(&made, "whether phosphorus limits"));
}

/// Phosphorus: what the rates would spend at the worst value of its rule, with starter at 100 USD/gal. Two zones of 10 ha, one sample for 8 USD.
#[test]
fn the_money_on_a_test_is_what_its_worst_value_would_cost_in_all_its_zones() {
    let dear = |made: Made| {
        made.settings(|settings| {
            let price = Price::PerVolume(quantity::<MoneyPerVolume>("100 USD/gal"));
            settings.prices = vec![("starter".into(), price)];
        })
    };
    let sound = Made::new(&[10.0, 10.0]).sound();
    let made = dear(without(sound.clone(), Phosphorus));
    let worst = Rulebook::built_in()
        .rule("phosphorus_mehlich_3")
        .expect("the rule")
        .worst;
    let at_worst = dear(sound.with(Phosphorus, &[worst, worst])).prescribed();
    let spent = at_worst.zones[0].cost.dollars_per_hectare() * 10.0;
    assert!(spent > 200.0 * ACRES_OF_10_HA, "{spent}");
    let prescription = made.prescribed();
    let test = asked(&prescription, "whether phosphorus limits").expect("the test");
    assert_eq!(test.zones, [1, 2]);
    close(test.dollars, 2.0 * spent);
    assert_eq!(test.dollars_a_sample, Some(8.0));
    assert_eq!(test.severity, 0.3);
}

/// The same buffer test decides two products: 40 ppm of magnesium ask for dolomitic lime, 200 ppm for calcitic.
#[test]
fn a_test_that_decides_two_things_is_told_for_each() {
    let made = without(Made::new(&[10.0, 10.0]).sound(), BufferPh)
        .with(Ph, &[5.2, 5.2])
        .with(Magnesium, &[200.0, 40.0]);
    let prescription = made.prescribed();
    let of = |decides: &str| {
        let test = asked(&prescription, decides).unwrap_or_else(|| panic!("{prescription:#?}"));
        assert!(test.test.contains("buffer pH"), "{}", test.test);
        assert_eq!(test.zones.len(), 1, "{decides}");
        test.product.clone().expect("a product").to_string()
    };
    assert_eq!(of("how much lime"), "lime");
    assert_eq!(of("how much dolomitic lime"), "dolomitic_lime");
}

/// A buffer pH that was run and gives no rate on organic soil is not paid for again.
#[test]
fn what_was_run_costs_no_sample() {
    let made = Made::one()
        .sound()
        .with(Ph, &[5.0])
        .with(BufferPh, &[6.2])
        .layer(key(OrganicMatter, "loi", "0-6 in"), "%", &[30.0]);
    let prescription = made.prescribed();
    let test = asked(&prescription, "how much lime").expect("a test");
    assert!(test.test.contains("ask the laboratory") || test.test.contains("Ask the laboratory"));
    assert_eq!(test.dollars_a_sample, None);
}

/// 1:1 at 2.03 dS/m is at most 6.8005 in the paste, at 2.0 at most 6.7: the worse of two zones is told with its own sentence, whichever comes
/// first. Oats: (EC - 4) / 8, three tenths of which count.
#[test]
fn the_field_is_told_the_worst_zone_of_a_test() {
    for readings in [[2.0, 2.03], [2.03, 2.0]] {
        let salt = key(ElectricalConductivity, "1:1", "0-6 in");
        let made = Made::new(&[2.0, 1.0])
            .layer(salt, "dS/m", &readings)
            .settings(|settings| settings.crop = "oats".into());
        let prescription = made.prescribed();
        let test = asked(&prescription, "whether salt limits").expect("the test");
        let severity = (6.8005 - 4.0) / 8.0 * 0.3;
        assert!((test.severity - severity).abs() < 1e-5, "{test:?}");
        assert!(test.why.contains("2.03"), "{}", test.why);
        assert_eq!(test.zones.len(), 2);
    }
}

/// A word of the consultant's needs no test.
#[test]
fn a_rate_that_is_set_asks_for_no_test() {
    let made = Made::one().sound();
    let made = with_words(made, &[(1, "starter", volume("3 gal/ac"), false)]);
    assert!(!is_asked(&made, "how much starter"));
}

/// Where what nobody measured counts for nothing, no test is asked for.
#[test]
fn a_factor_that_can_not_limit_asks_for_no_test() {
    let made = without(Made::one().sound(), Phosphorus);
    let text = "[number.unknown_severity]\nvalue = 0\n";
    let prescription = made.prescribed_by(&crate::ground::rules(text));
    assert!(asked(&prescription, "whether phosphorus limits").is_none());
}
