//! Stage tests: caps on what several products bring together, on check strips and on the ground that the seed-safe limit is read for; each
//! fails where its cap is loosened by 5 %, see docs/mutation-testing.md. Numbers by hand from the rulebook's own figures.

use lowstave::analyte::Analyte::*;
use lowstave::rates::Prescription;
use lowstave::rulebook::Rulebook;
use lowstave::units::{ProductRate, UnitSystem, VolumeFlow};

use crate::caps::{
    applied, close, gallons, has_remark, pounds, rate_of, said, short_of_phosphorus,
};
use crate::made_zones::{Made, find, key, quantity};

fn with_words(made: &Made, rules: &str, words: Vec<(&str, ProductRate, bool)>) -> Prescription {
    let rulebook = Rulebook::from_text(rules, "parts.toml").expect("rules");
    // Without starter, which brings a little phosphate too.
    let none = said("starter", gallons("0 gal/ac"), false);
    let words = words
        .into_iter()
        .map(|(product, rate, force)| said(product, rate, force))
        .chain([none])
        .collect();
    made.clone()
        .settings(|settings| settings.overrides = words)
        .prescribed_by(&rulebook)
}

/// Bone meal brings 27 % phosphate: 54 lb/ac are in 200 lb/ac of it.
#[test]
fn the_most_phosphate_of_a_season_holds_for_one_product() {
    let rules = "[number.phosphate_most]\nvalue = 54\n";
    let made = short_of_phosphorus();
    let bone = |rate: &str, force| {
        let words = vec![("bone_meal", pounds(rate), force)];
        with_words(&made, rules, words)
    };
    close(applied(&bone("198 lb/ac", false), "bone_meal"), 198.0);
    let over = bone("208 lb/ac", false);
    close(applied(&over, "bone_meal"), 200.0);
    assert!(has_remark(&over, "override-cut"), "{:?}", over.remarks);
    let note = rate_of(&over, "bone_meal")
        .note
        .as_deref()
        .unwrap_or_default();
    assert!(note.contains("phosphate in a season"), "{note}");
    close(applied(&bone("208 lb/ac", true), "bone_meal"), 208.0);
}

/// Gypsum that is said to bring 10 % phosphate, 300 lb/ac of it: 30 lb. Bone meal of 92 lb/ac brings 24.84 lb more, 0.84 lb too much.
#[test]
fn the_most_phosphate_of_a_season_holds_for_all_products_together() {
    let rules = "[number.phosphate_most]\nvalue = 54\n[product.gypsum]\nphosphate = 10\nsmallest = \"50 lb/ac\"\n";
    let made = short_of_phosphorus();
    let both = |bone: &str, force| {
        let words = vec![
            ("gypsum", pounds("300 lb/ac"), force),
            ("bone_meal", pounds(bone), false),
        ];
        with_words(&made, rules, words)
    };
    let brought = |p: &Prescription| 0.10 * applied(p, "gypsum") + 0.27 * applied(p, "bone_meal");
    close(brought(&both("88 lb/ac", false)), 53.76);
    let over = both("92 lb/ac", false);
    close(brought(&over), 54.0);
    assert!(has_remark(&over, "override-cut"), "{:?}", over.remarks);
    // One that is forced past the most leaves nothing for the other, and never less than nothing.
    let rules = rules.replace("54", "20");
    let words = vec![
        ("gypsum", pounds("300 lb/ac"), true),
        ("bone_meal", pounds("92 lb/ac"), false),
    ];
    let forced = with_words(&made, &rules, words);
    close(applied(&forced, "gypsum"), 300.0);
    close(applied(&forced, "bone_meal"), 0.0);
    let cap = rate_of(&forced, "bone_meal").cap.as_ref().expect("a cap");
    close(cap.most.number_in(UnitSystem::UnitedStates), 0.0);
}

/// Soluble borate brings 20.5 % boron: 2 lb/ac are in 9.756 lb/ac, less than the season's 10 lb/ac of the product.
#[test]
fn the_most_boron_of_a_season_holds() {
    let made = short_of_phosphorus();
    let borate = |rate: &str| {
        let words = vec![("soluble_borate", pounds(rate), false)];
        with_words(&made, "", words)
    };
    close(applied(&borate("9.7 lb/ac"), "soluble_borate"), 9.7);
    let over = borate("9.95 lb/ac");
    close(applied(&over, "soluble_borate"), 2.0 / 0.205);
    let note = rate_of(&over, "soluble_borate")
        .note
        .as_deref()
        .unwrap_or_default();
    assert!(note.contains("boron in a season"), "{note}");
}

/// What a strip on sound ground could try: the usual 3 gal/ac where the pump meters it, else what the pump meters, from the recipe's 2 on.
/// 5940 x flow / (5 mph x 30 in) = 39.6 x flow.
#[test]
fn a_check_strip_is_held_to_the_caps_too() {
    let strip = |most: f64, least: f64| {
        let made = short_of_phosphorus()
            .with(Phosphorus, &[60.0])
            .settings(|settings| {
                let flow = |rate: f64| quantity::<VolumeFlow>(&format!("{} gal/min", rate / 39.6));
                settings.machine.flow_per_row = (flow(least), flow(most));
            });
        let prescription = made.prescribed();
        close(applied(&prescription, "starter"), 0.0);
        find(&prescription.zones[0], "starter")
            .expect("a rate")
            .strip
            .map(|rate| rate.number_in(UnitSystem::UnitedStates))
    };
    let near = |found: Option<f64>, wanted: f64| close(found.expect("a strip"), wanted);
    near(strip(20.0, 0.5), 3.0);
    // The pump's most is the strip's most, to the step of a thousandth below it.
    near(strip(2.5004, 0.5), 2.5);
    // Less than the recipe's 2 gal/ac, or than the pump meters, is no strip.
    near(strip(2.001, 0.5), 2.001);
    assert_eq!(strip(1.95, 0.5), None);
    near(strip(20.0, 2.99), 2.99_f64.max(3.0));
    assert_eq!(strip(20.0, 3.1), None);
}

/// Kansas State University, eUpdate 3091, table 1, 30 in rows: 8 lb N + K2O on medium to fine ground, 6 on sandy. Without sand, CEC below
/// 8 meq/100 g tells sandy ground; with sand and no clay, 70 % of it do.
#[test]
fn the_ground_that_the_seed_safe_limit_is_read_for_is_told_at_its_limits() {
    let limit = |made: Made| {
        let recipe = made.prescribed().recipe.expect("a recipe");
        recipe.seed_salt_limit.number_in(UnitSystem::UnitedStates)
    };
    let by_capacity = |cec: f64| limit(short_of_phosphorus().with(CationExchangeCapacity, &[cec]));
    close(by_capacity(7.9), 6.0);
    close(by_capacity(8.1), 8.0);
    let by_sand =
        |sand: f64| limit(short_of_phosphorus().layer(key(Sand, "", "0-6 in"), "%", &[sand]));
    close(by_sand(71.0), 6.0);
    close(by_sand(69.0), 8.0);
    // With both, the class: 60 % sand and 6 % clay leave 34 % silt, a sandy loam; 40 and 20 a loam.
    let by_both = |sand: f64, clay: f64| {
        let made = short_of_phosphorus()
            .layer(key(Sand, "", "0-6 in"), "%", &[sand])
            .layer(key(Clay, "", "0-6 in"), "%", &[clay]);
        limit(made)
    };
    close(by_both(60.0, 6.0), 6.0);
    close(by_both(40.0, 20.0), 8.0);
}

/// A strip's own rate is held to the caps of its zone: the recipe's 6 gal/ac, its least of 2, and on sound ground the 3 that may be tried.
#[test]
fn the_rate_of_a_strip_is_held_to_the_caps_of_its_zone() {
    let units = UnitSystem::UnitedStates;
    let asked = |prescription: &Prescription, text: &str| {
        let mut products = prescription.products.iter();
        let product = products.find(|product| product.name == "starter");
        let rate = find(&prescription.zones[0], "starter").expect("a rate");
        rate.on_a_strip(gallons(text), product.expect("a product"), units)
            .map(|strip| (strip.amount.number_in(units), strip.cut))
    };
    let short = short_of_phosphorus().prescribed();
    let (rate, cut) = asked(&short, "5.9 gal/ac").expect("a rate");
    close(rate, 5.9);
    assert_eq!(cut, None);
    let (rate, cut) = asked(&short, "6.24 gal/ac").expect("a rate");
    close(rate, 6.0);
    assert!(cut.is_some_and(|cut| cut.contains("recipe")));
    assert!(asked(&short, "1.95 gal/ac").is_err());
    let (rate, _) = asked(&short, "2 gal/ac").expect("a rate");
    close(rate, 2.0);
    // Nothing on a strip is a strip without.
    close(asked(&short, "0 gal/ac").expect("a rate").0, 0.0);
    let sound = short_of_phosphorus().with(Phosphorus, &[60.0]).prescribed();
    let (rate, cut) = asked(&sound, "3.1 gal/ac").expect("a rate");
    close(rate, 3.0);
    assert!(cut.is_some_and(|cut| cut.contains("may be tried here")));
    let (rate, cut) = asked(&sound, "2.9 gal/ac").expect("a rate");
    close(rate, 2.9);
    assert_eq!(cut, None);
}

/// Two caps, or two floors, that lie less than 5 % apart: the tighter one holds, whichever of them is the pump's.
#[test]
fn of_two_caps_close_together_the_tighter_holds() {
    let word = |least: f64, most: f64, asked: &str| {
        let made = short_of_phosphorus().settings(|settings| {
            let flow = |rate: f64| quantity::<VolumeFlow>(&format!("{} gal/min", rate / 39.6));
            settings.machine.flow_per_row = (flow(least), flow(most));
            settings.overrides = vec![said("starter", gallons(asked), false)];
        });
        applied(&made.prescribed(), "starter")
    };
    // The recipe's 6 against a pump of 6.2, and of 5.8.
    close(word(0.5, 6.2, "6.15 gal/ac"), 6.0);
    close(word(0.5, 5.8004, "5.9 gal/ac"), 5.8);
    // The recipe's 2 against a pump of 1.95, and of 2.05.
    close(word(1.95, 20.0, "1.97 gal/ac"), 0.0);
    close(word(1.95, 20.0, "2 gal/ac"), 2.0);
    close(word(2.05, 20.0, "2.02 gal/ac"), 0.0);
    close(word(2.05, 20.0, "2.06 gal/ac"), 2.06);
}
