//! Warnings about stock and budget, and prices, by hand; see docs/mutation-testing.md. 10 ha are 24.7105 ac.

use lowstave::analyte::Analyte::*;
use lowstave::plan::{Price, Stock};
use lowstave::rates::{Prescription, RatesError};
use lowstave::rulebook::Rulebook;
use lowstave::units::{Mass, MoneyPerMass, MoneyPerVolume, UnitSystem, Volume};

use crate::ground::{close, has_remark, mass, rules, us, volume, with_shed, with_words, without};
use crate::made_zones::{Made, find, key, quantity, rate};

// ----------------------------------------------------------------------------------------------------- what is on hand

fn of_gypsum(on_hand: &str) -> Prescription {
    let on_hand = vec![("gypsum".to_owned(), Stock::Mass(quantity::<Mass>(on_hand)))];
    let made = with_words(
        Made::one().sound(),
        &[
            (1, "starter", volume("3 gal/ac"), false),
            (1, "gypsum", mass("1000 lb/ac"), false),
        ],
    );
    with_shed(made, &[], on_hand).prescribed()
}

/// 1,000 lb/ac on 24.7105 ac are 24,710.5 lb: 3 % more than 24,000, which the step of the controller explains, and 8 % more than 22,900.
#[test]
fn more_than_is_on_hand_is_told_from_five_percent_on() {
    assert!(!has_remark(&of_gypsum("24000 lb"), "more-than-on-hand"));
    let short = of_gypsum("22900 lb");
    let told = short.remarks.iter().find(|r| r.code == "more-than-on-hand");
    let told = told.expect("a warning").what.clone();
    assert!(told.contains("gypsum"), "{told}");
}

/// 10 gal/ac of molasses are 247.1 gal: 3 % more than 240, 8 % more than 229. Nothing of nothing is not too much.
#[test]
fn more_gallons_than_are_on_hand_are_told() {
    for (rate, on_hand, is_told) in [
        ("10 gal/ac", "240 gal", false),
        ("10 gal/ac", "229 gal", true),
        ("0 gal/ac", "0 gal", false),
    ] {
        let stock = Stock::Volume(quantity::<Volume>(on_hand));
        let made = with_words(Made::one().sound(), &[(1, "molasses", volume(rate), false)]);
        let made = with_shed(made, &[], vec![("molasses".to_owned(), stock)]);
        let prescription = made.prescribed();
        assert!(prescription.products.iter().any(|p| p.name == "molasses"));
        assert_eq!(
            has_remark(&prescription, "more-than-on-hand"),
            is_told,
            "{rate} {on_hand}"
        );
    }
}

/// A shed that names amounts and no products leaves all products open.
#[test]
fn a_shed_of_amounts_alone_closes_nothing() {
    let made = Made::one().sound().with(CalciumSaturation, &[50.0]);
    let stock = Stock::Mass(quantity::<Mass>("100 ton"));
    let made = with_shed(made, &[], vec![("gypsum".to_owned(), stock)]);
    assert!(rate(&made.prescribed().zones[0], "gypsum") > 0.0);
}

// ----------------------------------------------------------------------------------------------------------- the budget

/// 1,000 lb of gypsum at 45 USD/ton are 22.50 USD/ac, 2.3 % over 22.
#[test]
fn two_percent_over_the_budget_is_told() {
    let made = with_words(
        Made::one().sound(),
        &[(1, "gypsum", mass("1000 lb/ac"), false)],
    );
    for (budget, is_told) in [("22 USD/ac", true), ("23 USD/ac", false)] {
        let made = made.clone().settings(|s| s.budget = Some(quantity(budget)));
        assert_eq!(
            has_remark(&made.prescribed(), "over-budget"),
            is_told,
            "{budget}"
        );
    }
}

/// Loosening costs 24 USD/ac and is no product; a cover crop for 32 more is over the budget of 30.
#[test]
fn work_that_is_no_product_is_spent_too() {
    let push: &[f64] = &[100.0, 150.0, 150.0, 400.0, 400.0, 100.0];
    let made = Made::one()
        .sound()
        .pushes(&[&[push; 4]], Some("field capacity"))
        .settings(|settings| settings.budget = Some(quantity("30 USD/ac")));
    let prescription = made.prescribed();
    let zone = &prescription.zones[0];
    let bought: f64 = (zone.fixes.iter())
        .filter(|fix| !fix.left_out && !fix.is_test)
        .map(|fix| us(fix.cost))
        .sum();
    close(bought, 24.0);
    close(us(prescription.budget.expect("a budget").spent), 24.0);
}

// -------------------------------------------------------------------------------------------------- the recipe's limit

/// The first zone has medium ground and is short of phosphorus; the second is light and has enough. The recipe prints the limit of the ground
/// that gets starter: 8 lb/ac of nitrogen plus potash in 30 in rows; 6 lb/ac, of light ground, only where nobody gets any (Kansas State
/// University, Agronomy eUpdate 3091, table 1).
#[test]
fn the_recipe_prints_the_limit_of_the_ground_that_gets_starter() {
    let limit = |phosphorus: &[f64]| {
        let made = Made::new(&[10.0, 10.0])
            .sound()
            .with(Phosphorus, phosphorus)
            .with(CationExchangeCapacity, &[15.0, 5.0])
            .settings(|settings| settings.machine.row_spacing = quantity("30 in"));
        let prescription = made.prescribed();
        let recipe = prescription.recipe.expect("a recipe");
        recipe.seed_salt_limit.number_in(UnitSystem::UnitedStates)
    };
    close(limit(&[5.0, 40.0]), 8.0);
    close(limit(&[40.0, 40.0]), 6.0);
}

// --------------------------------------------------------------------------------------------------------------- prices

fn priced(name: &str, price: Price) -> Made {
    let made = with_words(
        Made::one().sound(),
        &[
            (1, "starter", volume("4 gal/ac"), false),
            (1, "compost", mass("2000 lb/ac"), false),
            (1, "molasses", volume("10 gal/ac"), false),
        ],
    );
    made.settings(|settings| settings.prices = vec![(name.into(), price)])
}

/// 4 gal/ac of starter at the 1.82943 USD/gal of its ingredients (tests/mutants/rates.rs), a ton of compost at 28 USD and 10 gal of molasses
/// at 2.60.
const PLAIN: f64 = 4.0 * 1.829_43 + 28.0 + 26.0;

fn cost(made: &Made) -> f64 {
    us(made.prescribed().zones[0].cost)
}

/// Manure of one's own may cost nothing; a starter may be bought as a whole; and a liquid may be priced by the pound: 11.7 lb/gal at 0.20.
#[test]
fn the_prices_of_the_plan_hold() {
    let per_mass = |text: &str| Price::PerMass(quantity::<MoneyPerMass>(text));
    let per_volume = |text: &str| Price::PerVolume(quantity::<MoneyPerVolume>(text));
    close(
        cost(&priced("compost", per_mass("0 USD/ton"))),
        PLAIN - 28.0,
    );
    let whole = cost(&priced("starter", per_volume("5 USD/gal")));
    close(whole, PLAIN - 4.0 * 1.829_43 + 20.0);
    let by_pound = cost(&priced("molasses", per_mass("0.20 USD/lb")));
    close(by_pound, PLAIN - 26.0 + 10.0 * 11.7 * 0.2);
}

#[test]
fn a_price_below_nothing_is_refused() {
    let made = priced(
        "compost",
        Price::PerMass(MoneyPerMass::from_dollars_per_kilogram(-0.01)),
    );
    let rulebook = Rulebook::built_in();
    let errors = made
        .prescribed_with(&made.diagnosis(&rulebook), &rulebook)
        .expect_err("a fault");
    assert!(
        matches!(errors[..], [RatesError::Negative { .. }]),
        "{errors:?}"
    );
}

// ---------------------------------------------------------------------------------------------------------------- gates

/// The word for gypsum against its gate is told at the gypsum, not at the starter before it.
#[test]
fn a_word_against_a_gate_is_told_at_its_product() {
    let made = Made::one().sound().with(CarbonNitrogenRatio, &[12.0]);
    let made = with_words(made, &[(1, "gypsum", mass("1000 lb/ac"), false)]);
    let closes = "[rule.carbon_water_extract]\ncloses = [\"gypsum\"]\n";
    let prescription = made.prescribed_by(&rules(closes));
    assert!(has_remark(&prescription, "override-against-gate"));
    let note = |product: &str| {
        let rate = find(&prescription.zones[0], product).expect("a rate");
        rate.note.clone().unwrap_or_default()
    };
    assert!(
        note("gypsum").contains("against the gate"),
        "{}",
        note("gypsum")
    );
    assert!(
        !note("starter").contains("against the gate"),
        "{}",
        note("starter")
    );
}

// ------------------------------------------------------------------------------------- which layer of the topsoil tells

/// Of two capacities in the topsoil the one that reaches deepest tells how light the ground is, whatever its test: 15 meq/100 g is medium ground
/// with 8 lb/ac, 5 is light with 6.
#[test]
fn the_deepest_layer_of_the_topsoil_tells() {
    let limit = |deep: f64, shallow: f64| {
        let made = without(Made::one().sound(), CationExchangeCapacity)
            .with(Phosphorus, &[5.0])
            .layer(
                key(CationExchangeCapacity, "ammonium-acetate", "0-8 in"),
                "meq/100 g",
                &[deep],
            )
            .layer(
                key(CationExchangeCapacity, "sum", "0-6 in"),
                "meq/100 g",
                &[shallow],
            )
            .settings(|settings| settings.machine.row_spacing = quantity("30 in"));
        let recipe = made.prescribed().recipe.expect("a recipe");
        recipe.seed_salt_limit.number_in(UnitSystem::UnitedStates)
    };
    close(limit(15.0, 5.0), 8.0);
    close(limit(5.0, 15.0), 6.0);
}

/// 5 % of the capacity at the depth of the calcium: 15 x 5 % are 150 ppm or 270 lb in 6 in, 30 x 5 % would be twice that.
#[test]
fn the_layer_of_the_findings_depth_goes_before_a_deeper_one() {
    let made = Made::one().sound().with(CalciumSaturation, &[60.0]).layer(
        key(CationExchangeCapacity, "sum", "0-8 in"),
        "meq/100 g",
        &[30.0],
    );
    let zone = made.prescribed().zones.remove(0);
    let needed = find(&zone, "gypsum").expect("gypsum").needed;
    close(
        needed.number_in(UnitSystem::UnitedStates),
        270.0 / 0.2328 / 0.9,
    );
}

/// A layer without a depth is a furrow slice of 6 2/3 in, 2 million lb/ac: 5 % of CEC 15 are 150 ppm or 300 lb.
#[test]
fn a_layer_without_a_depth_weighs_two_million_pounds() {
    let made = without(Made::one().sound(), CalciumSaturation);
    let made = without(made, CationExchangeCapacity)
        .layer(key(CalciumSaturation, "ammonium-acetate", ""), "%", &[60.0])
        .layer(key(CationExchangeCapacity, "sum", ""), "meq/100 g", &[15.0]);
    let any_depth = "[rule.calcium_saturation]\ndepths = []\n";
    let zone = made.prescribed_by(&rules(any_depth)).zones.remove(0);
    let needed = find(&zone, "gypsum").expect("gypsum").needed;
    close(
        needed.number_in(UnitSystem::UnitedStates),
        300.0 / 0.2328 / 0.9,
    );
}
