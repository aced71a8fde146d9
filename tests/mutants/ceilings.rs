//! The ceilings and gates of the mix, and how long its products work, by hand; see docs/mutation-testing.md.

use lowstave::analyte::Analyte::*;
use lowstave::plan::YieldGoal;
use lowstave::rates::ZoneRates;

use crate::ground::{close, fix_of, rules, us, with_shed};
use crate::made_zones::{Made, key, quantity, rate};

fn short(made: Made, products: &[&str]) -> Made {
    with_shed(made, products, Vec::new()).settings(|settings| {
        settings.machine.dry_step = Some(quantity("0.001 lb/ac"));
        settings.supply.yield_goals = vec![("corn".into(), YieldGoal::BushelsPerAcre(180.0))];
    })
}

fn potassium(made: Made, ppm: &[f64]) -> Made {
    made.layer(key(Potassium, "mehlich-3", "0-6 in"), "ppm", ppm)
}

fn by(made: &Made, text: &str) -> ZoneRates {
    made.prescribed_by(&rules(text)).zones.remove(0)
}

/// A row of the rulebook that asks for so many pounds.
fn asks(nutrient: &str, pounds: f64) -> String {
    let name = match nutrient {
        "phosphate" | "potash" => format!("national_{nutrient}"),
        other => format!("own_{other}"),
    };
    format!(
        "[rate.{name}]\nnutrient = \"{nutrient}\"\nform = \"steps\"\nsteps = [[0, {pounds}]]\nbasis = \"own\"\nsource = \"a test\"\n"
    )
}

/// The ceiling of 50 lb of potash rises to the need of 100: 200 lb of potassium sulfate.
#[test]
fn the_ceiling_of_potash_rises_to_the_need() {
    let made = short(
        potassium(Made::one().sound(), &[60.0]),
        &["potassium_sulfate"],
    );
    let text = asks("potash", 100.0) + "[number.potash_ceiling]\nvalue = 50\n";
    close(rate(&by(&made, &text), "potassium_sulfate"), 200.0);
}

/// The ceiling of 5 lb of sulfur rises to twice the need of 10: 20 lb are in 114.3 lb of 17.5 %, though 200 are asked for as potash.
#[test]
fn the_ceiling_of_sulfur_rises_to_twice_the_need() {
    let made = potassium(Made::one().sound(), &[60.0]).layer(
        key(Sulfur, "mehlich-3", "0-6 in"),
        "ppm",
        &[2.0],
    );
    let made = short(made, &["potassium_sulfate"]);
    let text =
        asks("potash", 100.0) + &asks("sulfur", 10.0) + "[number.sulfur_ceiling]\nvalue = 5\n";
    close(rate(&by(&made, &text), "potassium_sulfate"), 20.0 / 0.175);
}

/// No furrow is opened, so that the starter brings nothing.
const NO_STARTER: &str = "[crop.corn]\ntakes_starter = false\n";

/// Twice the need of 60 lb of phosphate is in 444.4 lb of bone meal of 27 %, of which 13 % act this season: 57.8 lb of the 60.
#[test]
fn the_ceiling_of_phosphate_is_twice_the_need() {
    let made = short(
        Made::one().sound().with(Phosphorus, &[10.0]),
        &["bone_meal"],
    );
    let text = asks("phosphate", 60.0) + NO_STARTER;
    close(rate(&by(&made, &text), "bone_meal"), 120.0 / 0.27);
}

/// Without a yield goal the ceiling of phosphate that is not short is 60 lb: 2,069 lb of litter of 2.9 %, though 40 lb of potash would take 2,286.
#[test]
fn without_a_yield_goal_the_usual_ceiling_of_phosphate_holds() {
    let made = short(potassium(Made::one().sound(), &[60.0]), &["poultry_litter"])
        .settings(|settings| settings.supply.yield_goals = Vec::new());
    close(
        rate(&by(&made, &asks("potash", 40.0)), "poultry_litter"),
        60.0 / 0.029,
    );
}

/// Manganese is brought only where it is short.
#[test]
fn the_mix_brings_no_manganese_that_is_not_needed() {
    let made = short(
        potassium(Made::one().sound(), &[60.0]),
        &["potassium_sulfate"],
    );
    let text = "[product.potassium_sulfate]\nmanganese = 1\n";
    close(rate(&by(&made, ""), "potassium_sulfate"), 82.8);
    assert_eq!(rate(&by(&made, text), "potassium_sulfate"), 0.0);
}

/// On salty ground the cheaper product is closed, which carries salt, and the dearer one meets the need.
#[test]
fn a_product_that_a_gate_closes_is_not_mixed() {
    let made = potassium(Made::one().sound(), &[60.0]).layer(
        key(ElectricalConductivity, "paste", "0-6 in"),
        "dS/m",
        &[6.0],
    );
    let made = short(made, &["muriate_of_potash", "wood_ash"]).with(Ph, &[6.3]);
    let text = asks("potash", 30.0)
        + "[product.wood_ash]\ncarries_salt = false\nprice = \"600 USD/ton\"\n";
    let zone = by(&made, &text);
    assert_eq!(rate(&zone, "muriate_of_potash"), 0.0);
    close(rate(&zone, "wood_ash"), 30.0 / 0.06);
}

/// The same where a rule closes it by its name.
#[test]
fn a_product_that_a_rule_closes_by_its_name_is_not_mixed() {
    let made = potassium(Made::one().sound(), &[60.0]).with(CarbonNitrogenRatio, &[12.0]);
    let made = short(made, &["muriate_of_potash", "potassium_sulfate"]);
    let text = asks("potash", 30.0)
        + "[rule.carbon_water_extract]\ncloses = [\"starter\", \"muriate_of_potash\"]\n";
    let zone = by(&made, &text);
    assert_eq!(rate(&zone, "muriate_of_potash"), 0.0);
    close(rate(&zone, "potassium_sulfate"), 60.0);
}

/// 257.7 lb of gypsum for one percent of calcium are less than spreads, so none goes out for it; the mix may still use it for 100 lb of sulfur.
#[test]
fn what_chemistry_gives_none_of_stays_open_to_the_mix() {
    let made = Made::one().sound().with(CalciumSaturation, &[64.0]).layer(
        key(Sulfur, "mehlich-3", "0-6 in"),
        "ppm",
        &[2.0],
    );
    let zone = by(&short(made, &["gypsum"]), &asks("sulfur", 100.0));
    close(rate(&zone, "gypsum"), 100.0 / 0.168);
}

/// Compost on the first zone brings more nitrogen than the 20 lb of the ceiling, and potash is short there; the second is short of phosphorus and
/// potash. Potassium sulfate brings no nitrogen and goes out on both, bone meal on the second.
#[test]
fn a_ceiling_that_is_used_up_closes_only_what_brings_more() {
    let made = potassium(Made::new(&[10.0, 10.0]).sound(), &[60.0, 60.0])
        .with(CarbonNitrogenRatio, &[6.0, 18.0])
        .with(Phosphorus, &[40.0, 10.0]);
    let made = short(made, &["potassium_sulfate", "bone_meal", "compost"]);
    let text = asks("potash", 100.0)
        + &asks("phosphate", 40.0)
        + NO_STARTER
        + "[number.nitrogen_ceiling]\nvalue = 20\n";
    let zones = made.prescribed_by(&rules(&text)).zones;
    let of = |zone: usize| zones.iter().find(|z| z.zone == zone).expect("a zone");
    assert!(rate(of(0), "compost") * 0.0063 > 20.0);
    assert!(rate(of(0), "potassium_sulfate") > 100.0);
    close(rate(of(1), "potassium_sulfate"), 200.0);
    // Twice the need of 40 lb, 27 % of it; 40 lb that act this season would be in 307.7 lb.
    close(rate(of(1), "bone_meal"), 80.0 / 0.27);
}

// -------------------------------------------------------------------------------------------------- years of the build-up

/// Cost of a year over cost at 6 %: C i / (1 - (1 + i)^-n).
fn annuity(years: f64) -> f64 {
    0.06 / (1.0 - 1.06_f64.powf(-years))
}

fn litter_share(made: Made, text: &str) -> f64 {
    let zone = by(
        &short(made, &["poultry_litter"]),
        &(text.to_owned() + NO_STARTER),
    );
    assert!(rate(&zone, "poultry_litter") > 0.0, "{:#?}", zone.cautions);
    let fix = fix_of(&zone, "poultry_litter_spread").expect("litter");
    us(fix.cost_a_year) / us(fix.cost)
}

fn builds(nutrient: &str, critical: f64, years: f64) -> String {
    format!(
        "[rate.national_{nutrient}]\nform = \"build\"\ncritical = {critical}\nmaintain_to = {critical}\nper_ppm = 1\nyears = {years}\n"
    )
}

/// Litter for 20 lb of phosphate, all of it replaced removal by a row of steps, and for potash: (80 - 60) x 1 = 20 lb of build-up over 4 years and
/// 41.4 of removal. Of the 81.4 lb that it covers 20 build up. Calcium that is short too is not what litter is for.
#[test]
fn the_part_that_builds_up_is_counted_by_mass_over_all_that_a_product_covers() {
    let made = potassium(Made::one().sound().with(Phosphorus, &[10.0]), &[60.0]).layer(
        key(Sulfur, "mehlich-3", "0-6 in"),
        "ppm",
        &[2.0],
    );
    let text = asks("phosphate", 20.0) + &builds("potash", 80.0, 4.0) + &asks("sulfur", 50.0);
    let share = 20.0 / 81.4;
    close(
        litter_share(made, &text),
        share * annuity(4.0) + (1.0 - share) * annuity(1.0),
    );
}

/// Two build-ups, of 4 and of 2 years, in either order: the shorter counts for both. Phosphate (30 - 10) x 1 = 20 of 86.6 lb, potash 20 of 61.4 lb.
#[test]
fn of_two_build_ups_the_shorter_counts() {
    for years in [(4.0, 2.0), (2.0, 4.0)] {
        let made = potassium(Made::one().sound().with(Phosphorus, &[10.0]), &[60.0]);
        let text = builds("phosphate", 30.0, years.0) + &builds("potash", 80.0, years.1);
        let share = 40.0 / (20.0 + 66.6 + 20.0 + 41.4);
        close(
            litter_share(made, &text),
            share * annuity(2.0) + (1.0 - share) * annuity(1.0),
        );
    }
}

/// Potash that compost meets already has no say in the years of the litter.
#[test]
fn a_build_up_that_is_met_has_no_say_in_the_years() {
    let made = potassium(Made::one().sound().with(Phosphorus, &[10.0]), &[60.0])
        .with(CarbonNitrogenRatio, &[6.0]);
    let made = short(made, &["poultry_litter", "compost"]).settings(|settings| {
        settings.supply.yield_goals = vec![("corn".into(), YieldGoal::BushelsPerAcre(10.0))];
    });
    // (80 - 60) x 0.1 = 2 lb and 2.3 lb of removal; compost of 0.5 % potash brings more from 860 lb on.
    let text = builds("phosphate", 130.0, 4.0)
        + "[rate.national_potash]\nform = \"build\"\ncritical = 80\nmaintain_to = 80\nper_ppm = 0.1\nyears = 2\n"
        + NO_STARTER;
    let zone = by(&made, &text);
    assert!(rate(&zone, "compost") > 860.0);
    let litter = fix_of(&zone, "poultry_litter_spread").expect("litter");
    assert!(
        litter.arithmetic.contains("over 4 years"),
        "{}",
        litter.arithmetic
    );
}
