//! Stage tests: every cap on a rate, exactly at the cap. Each of these fails where a cap is loosened by 5 %; see docs/mutation-testing.md.
//!
//! The numbers are worked out by hand from the rulebook's own figures and from Oklahoma State University, Sprayer calibration:
//! gal/ac = 5940 x gal/min / (mph x in). The steps are made so fine that rounding hides nothing.

use lowstave::analyte::Analyte::*;
use lowstave::plan::Override;
use lowstave::provenance::Place;
use lowstave::rates::{Prescription, Rate};
use lowstave::rulebook::Rulebook;
use lowstave::units::ProductRate;
use lowstave::units::{MassPerArea, Speed, UnitSystem, VolumeFlow, VolumePerArea};

use crate::made_zones::{Made, find, key, quantity, rate};

/// Rates to the thousandth: the fine step.
pub(crate) fn close(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() < 2e-3 * wanted.max(1.0),
        "{found} is not {wanted}"
    );
}

/// Sound corn ground that is very short of phosphorus, with steps of a thousandth and a pump that meters all that the tests ask for.
pub(crate) fn short_of_phosphorus() -> Made {
    Made::one()
        .sound()
        .with(Phosphorus, &[2.0])
        .settings(|settings| {
            settings.machine.liquid_step = Some(quantity("0.001 gal/ac"));
            settings.machine.dry_step = Some(quantity("0.001 lb/ac"));
            settings.machine.speed = quantity::<Speed>("5 mph");
            settings.machine.flow_per_row = (
                quantity::<VolumeFlow>("0.01 gal/min"),
                quantity::<VolumeFlow>("2 gal/min"),
            );
        })
}

pub(crate) fn said(product: &str, rate: ProductRate, force: bool) -> Override {
    Override {
        zone: 1,
        at: None,
        inside: Vec::new(),
        product: product.into(),
        rate,
        why: "seen on foot".into(),
        force,
        place: Place::file("plan.toml").at_key("override[1]"),
    }
}

pub(crate) fn gallons(text: &str) -> ProductRate {
    ProductRate::Volume(quantity::<VolumePerArea>(text))
}

pub(crate) fn pounds(text: &str) -> ProductRate {
    ProductRate::Mass(quantity::<MassPerArea>(text))
}

fn with_word(made: &Made, product: &str, rate: ProductRate, force: bool) -> Prescription {
    made.clone()
        .settings(|settings| settings.overrides = vec![said(product, rate, force)])
        .prescribed()
}

pub(crate) fn rate_of<'a>(prescription: &'a Prescription, product: &str) -> &'a Rate {
    find(&prescription.zones[0], product).expect("a rate")
}

pub(crate) fn applied(prescription: &Prescription, product: &str) -> f64 {
    rate(&prescription.zones[0], product)
}

pub(crate) fn has_remark(prescription: &Prescription, code: &str) -> bool {
    prescription
        .remarks
        .iter()
        .any(|remark| remark.code == code)
}

/// The words that reach the cap, a little over it, are cut to it and say so; with force they pass and warn.
fn a_word_is_held_to(made: &Made, product: &str, cap: f64, unit: &str, why: &str) {
    let said = |number: f64| {
        let text = format!("{number} {unit}");
        if unit == "gal/ac" {
            gallons(&text)
        } else {
            pounds(&text)
        }
    };
    let inside = with_word(made, product, said(0.98 * cap), false);
    close(applied(&inside, product), 0.98 * cap);
    assert!(!has_remark(&inside, "override-cut"), "{:?}", inside.remarks);
    // 4 % over the cap: a cap that is loosened by 5 % would let it through.
    let over = with_word(made, product, said(1.04 * cap), false);
    close(applied(&over, product), cap);
    assert!(has_remark(&over, "override-cut"), "{:?}", over.remarks);
    let note = rate_of(&over, product).note.as_deref().unwrap_or_default();
    assert!(note.contains(why) && note.contains("consultant"), "{note}");
    let forced = with_word(made, product, said(1.04 * cap), true);
    close(applied(&forced, product), 1.04 * cap);
    assert!(
        has_remark(&forced, "override-forced"),
        "{:?}",
        forced.remarks
    );
}

#[test]
fn the_recipes_most_holds() {
    // P 2 ppm is past the worst value, severity 1: the recipe's most, 6 gal/ac.
    let made = short_of_phosphorus();
    close(applied(&made.prescribed(), "starter"), 6.0);
    a_word_is_held_to(&made, "starter", 6.0, "gal/ac", "recipe");
}

#[test]
fn the_pump_at_the_planned_speed_holds() {
    // 5940 x 0.1 gal/min / (5 mph x 30 in) = 3.96 gal/ac.
    let made = short_of_phosphorus()
        .settings(|settings| settings.machine.flow_per_row.1 = quantity("0.1 gal/min"));
    close(applied(&made.prescribed(), "starter"), 3.96);
    a_word_is_held_to(&made, "starter", 3.96, "gal/ac", "pump");
}

#[test]
fn the_pumps_least_at_the_planned_speed_holds() {
    // 5940 x 0.1 / (5 x 30) = 3.96 gal/ac is the least: 3.9 cannot be metered, 4 can.
    let made = short_of_phosphorus()
        .settings(|settings| settings.machine.flow_per_row.0 = quantity("0.1 gal/min"));
    let under = with_word(&made, "starter", gallons("3.9 gal/ac"), false);
    close(applied(&under, "starter"), 0.0);
    let note = rate_of(&under, "starter")
        .note
        .as_deref()
        .unwrap_or_default();
    assert!(note.contains("meters no less than"), "{note}");
    close(
        applied(
            &with_word(&made, "starter", gallons("4 gal/ac"), false),
            "starter",
        ),
        4.0,
    );
    close(
        applied(
            &with_word(&made, "starter", gallons("3.9 gal/ac"), true),
            "starter",
        ),
        3.9,
    );
}

#[test]
fn the_recipes_least_holds() {
    let made = short_of_phosphorus();
    let under = with_word(&made, "starter", gallons("1.95 gal/ac"), false);
    close(applied(&under, "starter"), 0.0);
    close(
        applied(
            &with_word(&made, "starter", gallons("2 gal/ac"), false),
            "starter",
        ),
        2.0,
    );
}

#[test]
fn the_weight_on_tight_ground_holds() {
    let tight: &[f64] = &[250.0];
    let made = short_of_phosphorus().pushes(&[&[tight; 4]], Some("moist"));
    close(applied(&made.prescribed(), "starter"), 4.0);
    a_word_is_held_to(&made, "starter", 4.0, "gal/ac", "tight");
}

#[test]
fn the_salt_beside_the_seed_holds() {
    // Kansas State University, eUpdate 3091, table 1: corn in 30 in rows on sandy ground 6 lb N + K2O per acre. The mix is set to one
    // ingredient of 20 % nitrogen at 10 lb/gal, half of it: 1 lb in a gallon, so 6 gal/ac were safe, and at 22 % 5.4545.
    let rules = "[recipe.starter]\nmost = \"20 gal/ac\"\n[recipe.starter.ingredient.corn_steep_liquor]\nshare = 0.5\n\
        [recipe.starter.ingredient.seaweed_extract]\nshare = 0\n[recipe.starter.ingredient.potassium_sulfate]\ngrams_per_litre = 0\n\
        [product.corn_steep_liquor]\ndensity = \"10 lb/gal\"\nnitrogen = 22\npotash = 0\n";
    let rulebook = Rulebook::from_text(rules, "salty.toml").expect("rules");
    let made = short_of_phosphorus().with(CationExchangeCapacity, &[4.0]);
    let computed = made.prescribed_by(&rulebook);
    close(applied(&computed, "starter"), 6.0 / 1.1);
    let word = |force| {
        made.clone()
            .settings(|settings| {
                settings.overrides = vec![said("starter", gallons("5.68 gal/ac"), force)];
            })
            .prescribed_by(&rulebook)
    };
    close(applied(&word(false), "starter"), 6.0 / 1.1);
    close(applied(&word(true), "starter"), 5.68);
    let recipe = word(false).recipe.expect("a recipe");
    assert!(recipe.seed_salt.number_in(UnitSystem::UnitedStates) <= 6.0 + 1e-9);
}

#[test]
fn the_seasons_most_of_a_product_holds() {
    // Gypsum at most 2 ton/ac; in pasture lime at most 2 ton/ac on the surface, 4 ton/ac worked in.
    let made = short_of_phosphorus()
        .with(Ph, &[5.0])
        .with(BufferPh, &[5.6]);
    a_word_is_held_to(&made, "gypsum", 4_000.0, "lb/ac", "season");
    close(applied(&made.prescribed(), "lime"), 8_000.0);
    a_word_is_held_to(&made, "lime", 8_000.0, "lb/ac", "season");
    let pasture = made.settings(|settings| settings.crop = "pasture".into());
    close(applied(&pasture.prescribed(), "lime"), 4_000.0);
    a_word_is_held_to(&pasture, "lime", 4_000.0, "lb/ac", "season");
}

#[test]
fn the_least_that_spreads_evenly_holds() {
    let made = short_of_phosphorus();
    let under = with_word(&made, "gypsum", pounds("290 lb/ac"), false);
    close(applied(&under, "gypsum"), 0.0);
    close(
        applied(
            &with_word(&made, "gypsum", pounds("300 lb/ac"), false),
            "gypsum",
        ),
        300.0,
    );
}

#[test]
fn a_word_between_two_steps_of_the_controller_goes_down_to_the_lower() {
    let made = short_of_phosphorus().settings(|settings| {
        settings.machine.liquid_step = Some(quantity("0.5 gal/ac"));
        settings.machine.dry_step = Some(quantity("100 lb/ac"));
    });
    let word = |product, rate| applied(&with_word(&made, product, rate, false), product);
    close(word("starter", gallons("3.49 gal/ac")), 3.0);
    close(word("starter", gallons("3.5 gal/ac")), 3.5);
    close(word("gypsum", pounds("1099 lb/ac")), 1_000.0);
    // A cap between two steps: the step below it. 3.96 gal/ac is what the pump meters.
    let slow = made.settings(|settings| settings.machine.flow_per_row.1 = quantity("0.1 gal/min"));
    close(
        applied(
            &with_word(&slow, "starter", gallons("5 gal/ac"), false),
            "starter",
        ),
        3.5,
    );
    close(applied(&slow.prescribed(), "starter"), 3.5);
}

#[test]
fn the_flows_of_the_map_are_those_of_the_rates_that_go_out() {
    // 5 gal/ac x 5 mph x 30 in / 5940 = 0.126 gal/min; the calculated 6 gal/ac would be 0.152.
    let made = short_of_phosphorus();
    let prescription = with_word(&made, "starter", gallons("5 gal/ac"), false);
    let told = |prescription: &Prescription| {
        let remarks = prescription.remarks.iter();
        let mut flows = remarks.filter(|remark| remark.code == "flow-per-row");
        flows.next().expect("a remark").what.clone()
    };
    assert!(
        told(&prescription).contains("0.126 gal/min"),
        "{}",
        told(&prescription)
    );
    // An override that is cut: the flow is that of what is left, 6 gal/ac.
    let cut = with_word(&made, "starter", gallons("15 gal/ac"), false);
    assert!(told(&cut).contains("0.152 gal/min"), "{}", told(&cut));
    let recipe = cut.recipe.as_ref().expect("a recipe");
    let zone = rate_of(&cut, "starter")
        .amount
        .number_in(UnitSystem::UnitedStates);
    close(zone, 6.0);
    assert!(
        recipe.seed_salt.kilograms_per_hectare() <= recipe.seed_salt_limit.kilograms_per_hectare()
    );
}

#[test]
fn a_word_of_fifteen_gallons_passes_no_cap_without_force() {
    // The case: 15 gal/ac past recipe (6), pump (11.9) and weight (4).
    let tight: &[f64] = &[250.0];
    let made = short_of_phosphorus()
        .pushes(&[&[tight; 4]], Some("moist"))
        .settings(|settings| {
            settings.machine.flow_per_row = (quantity("0.03 gal/min"), quantity("0.30 gal/min"));
        });
    let held = with_word(&made, "starter", gallons("15 gal/ac"), false);
    close(applied(&held, "starter"), 4.0);
    let forced = with_word(&made, "starter", gallons("15 gal/ac"), true);
    close(applied(&forced, "starter"), 15.0);
    assert!(has_remark(&forced, "override-forced"));
    let cap = rate_of(&held, "starter").cap.as_ref().expect("a cap");
    close(cap.most.number_in(UnitSystem::UnitedStates), 4.0);
}

#[test]
fn salt_on_salty_ground_needs_force() {
    let made = short_of_phosphorus().layer(
        key(ElectricalConductivity, "paste", "0-6 in"),
        "dS/m",
        &[6.0],
    );
    close(applied(&made.prescribed(), "starter"), 0.0);
    let held = with_word(&made, "starter", gallons("4 gal/ac"), false);
    close(applied(&held, "starter"), 0.0);
    assert!(has_remark(&held, "override-cut"), "{:?}", held.remarks);
    let forced = with_word(&made, "starter", gallons("4 gal/ac"), true);
    close(applied(&forced, "starter"), 4.0);
    assert!(
        has_remark(&forced, "override-forced"),
        "{:?}",
        forced.remarks
    );
}

#[test]
fn lime_and_phosphate_rock_never_go_out_together() {
    // pH 5.4 and P 2 ppm ask for both; lime takes away the acid that dissolves the rock.
    let made = short_of_phosphorus()
        .with(Ph, &[5.4])
        .with(BufferPh, &[6.5]);
    let both = made.prescribed();
    assert!(applied(&both, "lime") > 0.0);
    close(applied(&both, "phosphate_rock"), 0.0);
    let note = rate_of(&both, "phosphate_rock")
        .note
        .as_deref()
        .unwrap_or_default();
    assert!(note.contains("not both in one season"), "{note}");
    let rock = with_word(&made, "phosphate_rock", pounds("500 lb/ac"), false);
    close(applied(&rock, "phosphate_rock"), 0.0);
    // The consultant takes the lime out: then the rock goes.
    let words = vec![
        said("lime", pounds("0 lb/ac"), false),
        said("phosphate_rock", pounds("500 lb/ac"), false),
    ];
    let rock = made
        .settings(|settings| settings.overrides = words)
        .prescribed();
    close(applied(&rock, "phosphate_rock"), 500.0);
    close(applied(&rock, "lime"), 0.0);
}
