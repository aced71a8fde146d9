//! The order of fixes by hand; see docs/mutation-testing.md.

use lowstave::analyte::Analyte::*;
use lowstave::plan::YieldGoal;
use lowstave::rates::ZoneRates;
use lowstave::rulebook::{Factor, Rulebook};

use crate::ground::{
    close, first, fix_of, mass, place_of, rules, us, with_shed, with_words, without,
};
use crate::made_zones::{Made, key, rate};

/// Sound ground where phosphorus was not tested (severity 0.3 still possible) and pH in water is `ph`; its severity is 6 - pH.
fn untested(ph: f64) -> Made {
    without(Made::one().sound(), Phosphorus).with(Ph, &[ph])
}

/// 3 % apart: a test of 0.3 stands after the lime for a limit of 0.31 and before that for 0.29.
#[test]
fn a_test_stands_before_fixes_of_a_little_less_only() {
    for (ph, is_before) in [(5.69, false), (5.71, true)] {
        let zone = first(&untested(ph));
        let (test, lime) = (place_of(&zone, "phosphorus"), place_of(&zone, "lime"));
        assert_eq!(test < lime, is_before, "pH {ph}");
    }
}

/// 8 USD for the one sample of 10 ha; a test is a year's matter and a point of effort.
#[test]
fn a_test_costs_one_sample_of_the_zone() {
    let zone = first(&untested(6.6));
    let test = fix_of(&zone, "phosphorus").expect("the test");
    assert!((test.cost.dollars_per_hectare() - 0.8).abs() < 1e-9);
    assert!((test.cost_a_year.dollars_per_hectare() - 0.8).abs() < 1e-9);
    assert_eq!((test.years, test.effort), (1.0, 1.0));
}

/// A test of 0.3 is among the fixes where they are asked for from 0.29 on, and not from 0.31 on.
#[test]
fn tests_stand_among_the_fixes_from_a_severity_on() {
    for (from, is_there) in [(0.29, true), (0.3, true), (0.31, false)] {
        let text = format!("[number.test_from_severity]\nvalue = {from}\n");
        let zone = untested(6.6).prescribed_by(&rules(&text)).zones.remove(0);
        assert_eq!(fix_of(&zone, "phosphorus").is_some(), is_there, "{from}");
    }
}

/// On alkaline ground phosphorus is banded unless it is known not to be short.
#[test]
fn another_factor_in_order_drops_a_fix_and_an_unknown_one_does_not() {
    let alkaline = Made::one().sound().with(Ph, &[8.8]);
    let is_banded = |made: Made| fix_of(&first(&made), "band_phosphorus").is_some();
    assert!(!is_banded(alkaline.clone()));
    assert!(is_banded(alkaline.clone().with(Phosphorus, &[5.0])));
    assert!(is_banded(without(alkaline, Phosphorus)));
}

fn short_of_potash() -> Made {
    Made::one()
        .sound()
        .layer(key(Potassium, "mehlich-3", "0-6 in"), "ppm", &[80.0])
        .settings(|settings| {
            settings.supply.yield_goals = vec![("corn".into(), YieldGoal::BushelsPerAcre(180.0))];
        })
}

/// A source of potash is advised where none is spread: a product at zero and another product that goes out do not answer for it.
#[test]
fn a_fix_gives_way_only_to_a_product_that_goes_out_for_it() {
    let zone = first(&short_of_potash());
    assert!(
        fix_of(&zone, "potassium_source").is_none(),
        "{:#?}",
        zone.fixes
    );
    let words = [
        (1, "potassium_sulfate", mass("0 lb/ac"), false),
        (1, "gypsum", mass("1000 lb/ac"), false),
    ];
    let made = with_shed(
        short_of_potash(),
        &["gypsum", "potassium_sulfate"],
        Vec::new(),
    );
    let zone = first(&with_words(made, &words));
    assert!(rate(&zone, "gypsum") > 0.0 && rate(&zone, "potassium_sulfate") == 0.0);
    assert!(
        fix_of(&zone, "potassium_source").is_some(),
        "{:#?}",
        zone.fixes
    );
}

/// Corn keeps 100 - 12 x (EC - 1.7) %: 92.8 at 2.3 dS/m, which is nine tenths, and 87.4 at 2.75, which is not (Maas and Grattan's line, the
/// rulebook's numbers).
#[test]
fn another_crop_is_advised_where_this_one_loses_more_than_a_tenth() {
    for (salt, is_advised) in [(2.3, false), (2.75, true)] {
        let made = Made::one().sound().layer(
            key(ElectricalConductivity, "paste", "0-6 in"),
            "dS/m",
            &[salt],
        );
        let zone = first(&made);
        assert_eq!(
            fix_of(&zone, "tolerant_crop").is_some(),
            is_advised,
            "{salt}"
        );
    }
}

/// A fix that costs nothing, where effort counts for nothing, counts as a cent: 100 x 0.3 x severity / 0.01.
#[test]
fn a_fix_for_nothing_counts_as_a_cent() {
    let made = Made::one().sound().layer(
        key(ElectricalConductivity, "paste", "0-6 in"),
        "dS/m",
        &[6.0],
    );
    let text = "[number.cost_of_effort]\nvalue = 0\n[fix.improve_drainage]\ncost = \"0 USD/ac\"\nseasons = 0\nrelief = 0.4\n";
    let zone = made.prescribed_by(&rules(text)).zones.remove(0);
    let fix = fix_of(&zone, "improve_drainage").expect("it");
    assert_eq!(us(fix.cost), 0.0);
    assert!(fix.severity > 0.0);
    close(fix.score, 100.0 * 0.4 * fix.severity / 0.01);
}

/// pH 5.8 in half of the cells and 6.5 in the others: adequate on average, and the acid half is limed. Lime mends the acidity, not the calcium,
/// which is in order.
#[test]
fn lime_for_a_part_of_a_zone_mends_its_acidity_alone() {
    let made = without(Made::one().sound(), Ph)
        .cell_layer(key(Ph, "water", "0-6 in"), "pH", |cell| {
            [5.8, 6.5][cell % 2]
        })
        .with(BufferPh, &[6.5]);
    let zone = first(&made);
    assert!(rate(&zone, "lime") > 0.0);
    let lime = fix_of(&zone, "lime").expect("lime among the fixes");
    assert_eq!(lime.factor, Factor::Acidity);
    assert!(!lime.arithmetic.contains("calcium"), "{}", lime.arithmetic);
}

/// Lime that the plan forces where no pH is known mends nothing that was measured.
#[test]
fn lime_on_ground_without_a_ph_is_no_fix_of_acidity() {
    let made = without(Made::one().sound(), Ph);
    let zone = first(&with_words(made, &[(1, "lime", mass("2000 lb/ac"), true)]));
    assert!(rate(&zone, "lime") > 0.0);
    assert!(fix_of(&zone, "lime").is_none(), "{:#?}", zone.fixes);
}

/// At its worst potassium would cost more than phosphorus, so it is worth more to know; both could be 0.3.
#[test]
fn of_tests_alike_in_severity_the_one_with_more_money_on_it_comes_first() {
    let made = without(Made::one().sound(), Phosphorus);
    let mut prescription = made.prescribed_by(&Rulebook::built_in());
    let of = |factor: &str| {
        let mut tests = prescription.test_first.iter();
        let decides = format!("whether {factor} limits");
        let test = tests
            .find(|test| test.decides == decides)
            .expect("the test");
        (test.severity, test.dollars)
    };
    let (phosphorus, potassium) = (of("phosphorus"), of("potassium"));
    assert!((phosphorus.0 - potassium.0).abs() < 1e-12);
    assert!(potassium.1 > phosphorus.1, "{potassium:?} {phosphorus:?}");
    let zone: ZoneRates = prescription.zones.remove(0);
    assert!(place_of(&zone, "potassium") < place_of(&zone, "phosphorus"));
}
