//! Stage tests: money that works over years is compared by its cost of a year.

use lowstave::analyte::Analyte::*;
use lowstave::plan::YieldGoal;
use lowstave::rates::{Fix, Prescription};
use lowstave::rulebook::Rulebook;
use lowstave::units::UnitSystem;

use crate::made_zones::{Made, key, quantity, rate};

fn acid() -> Made {
    Made::one().sound().with(Ph, &[5.6]).with(BufferPh, &[6.6])
}

fn fix(prescription: &Prescription, name: &str) -> Fix {
    let mut fixes = prescription.zones[0].fixes.iter();
    fixes
        .find(|fix| fix.name == name)
        .unwrap_or_else(|| panic!("no {name}"))
        .clone()
}

fn us(money: lowstave::units::MoneyPerArea) -> f64 {
    money.number_in(UnitSystem::UnitedStates)
}

/// Cost of a year = C i / (1 - (1 + i)^-n) (Washington State University class notes): of 5 years at 6 % 0.237396 of it, of 3 years on sand
/// 0.374110, at 12 % 0.277410, without interest a fifth.
#[test]
fn lime_is_spread_over_its_years_at_the_plans_interest() {
    let share = |made: &Made| {
        let lime = fix(&made.prescribed(), "lime");
        us(lime.cost_a_year) / us(lime.cost)
    };
    assert!((share(&acid()) - 0.237_396).abs() < 1e-5);
    let sandy = acid().layer(key(Sand, "hydrometer", "0-6 in"), "%", &[85.0]);
    assert!((share(&sandy) - 0.374_110).abs() < 1e-5);
    let dear = acid().settings(|settings| settings.supply.interest = Some(12.0));
    assert!((share(&dear) - 0.277_410).abs() < 1e-5);
    let free = acid().settings(|settings| settings.supply.interest = Some(0.0));
    assert!((share(&free) - 0.2).abs() < 1e-9);
    let words = fix(&dear.prescribed(), "lime").arithmetic;
    assert!(
        words.contains("over 5 years at 12 % = ") && words.contains("a year) = "),
        "{words}"
    );
}

/// Tri-state, from memory: 95 ppm at CEC 12: build-up 40 of 96 lb, over four years: 0.41667 x 0.288591 + 0.58333 x 1.06 of the cost.
#[test]
fn what_builds_a_test_up_is_spread_over_the_years_of_the_build_up() {
    let made = Made::one()
        .sound()
        .with(CationExchangeCapacity, &[12.0])
        .layer(key(Potassium, "mehlich-3", "0-6 in"), "ppm", &[95.0])
        .settings(|settings| {
            settings.supply.region = Some("tri-state".into());
            settings.supply.yield_goals = vec![("corn".into(), YieldGoal::BushelsPerAcre(180.0))];
        });
    let prescription = made.prescribed_by(&Rulebook::of_region("tri-state").expect("a region"));
    let potash = fix(&prescription, "potassium_sulfate_spread");
    let share = us(potash.cost_a_year) / us(potash.cost);
    assert!(
        (share - (0.416_667 * 0.288_591 + 0.583_333 * 1.06)).abs() < 1e-4,
        "{share}"
    );
    assert!(
        potash
            .arithmetic
            .contains("42 % of it builds the test up, over 4 years"),
        "{}",
        potash.arithmetic
    );
}

/// Two zones, one of which is acid and one short of sulfur: with the money of one, the fix that works for years goes first although it costs
/// more at once; where it works for one year only, it does not.
#[test]
fn the_budget_weighs_relief_by_the_years_that_it_works() {
    let made = Made::new(&[10.0, 10.0])
        .sound()
        .with(Ph, &[5.7, 6.6])
        .with(BufferPh, &[6.6, 6.8])
        .with(CalciumSaturation, &[70.0, 50.0]);
    let free = made.prescribed();
    let dearest = free
        .zones
        .iter()
        .map(|zone| us(zone.cost))
        .fold(0.0, f64::max);
    let limit = format!("{} USD/ac", dearest / 2.0 * 1.02);
    let bound = made.settings(|settings| settings.budget = Some(quantity(&limit)));
    let limed = |rulebook: &Rulebook| {
        let zones = bound.prescribed_by(rulebook).zones;
        let sums = |name| zones.iter().map(|zone| rate(zone, name)).sum::<f64>();
        (sums("lime") > 0.0, sums("gypsum") > 0.0)
    };
    assert_eq!(limed(&Rulebook::built_in()), (true, false));
    let short = "[fix.lime]\nyears = 1\nyears_on_sand = 1\n[fix.gypsum]\nyears = 8\n";
    let short = Rulebook::from_text(short, "own.toml").expect("a rulebook");
    assert_eq!(limed(&short), (false, true));
}

#[test]
fn what_the_budget_leaves_out_names_its_cost_of_a_year() {
    let made = acid().settings(|settings| settings.budget = Some(quantity("1 USD/ac")));
    let left_out = made.prescribed().budget.expect("a budget").left_out;
    assert!(
        left_out
            .iter()
            .any(|line| line.contains("lime") && line.contains("a year")),
        "{left_out:?}"
    );
}
