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

// ------------------------------------------------------------------------------------- the starter between floor, cap and step

/// Corn ground short of phosphorus by so much, with a pump that meters from one rate to another (gal/ac at 5 mph in rows of 30 in:
/// gal/min = gal/ac x 5 x 30 / 5940, Oklahoma State University, Sprayer calibration) and a step.
fn starter(phosphorus: f64, least: f64, most: f64, step: &str) -> Made {
    short_of_phosphorus()
        .with(Phosphorus, &[phosphorus])
        .settings(|settings| {
            let flow = |rate: f64| quantity(&format!("{} gal/min", rate * 150.0 / 5940.0));
            settings.machine.flow_per_row = (flow(least), flow(most));
            settings.machine.liquid_step = Some(quantity(step));
        })
}

fn note_and_steps(made: &Made) -> (f64, String, String) {
    let prescription = made.prescribed();
    let rate = rate_of(&prescription, "starter");
    (
        applied(&prescription, "starter"),
        rate.note.clone().unwrap_or_default(),
        rate.steps.join("; "),
    )
}

/// Between the pump's least of 3.96 gal/ac and its most of 4.05 there is nothing to round up to: what is asked for goes out.
#[test]
fn a_rate_a_little_over_the_floor_stays_itself() {
    let (rate, note, steps) = note_and_steps(&starter(2.0, 3.96, 4.05, "0.01 gal/ac"));
    close(rate, 4.05);
    assert!(
        note.is_empty() && steps.contains("at most 4.05 gal/ac"),
        "{note} {steps}"
    );
    assert!(!steps.contains("rounded"), "{steps}");
}

/// A rate between two steps goes down to the lower and says so.
#[test]
fn a_rate_between_two_steps_of_the_starter_goes_down_and_says_so() {
    let (rate, _, steps) = note_and_steps(&starter(2.0, 0.5, 4.05, "0.5 gal/ac"));
    close(rate, 4.0);
    assert!(
        steps.contains("rounded down to the step of 0.5 gal/ac: 4 gal/ac"),
        "{steps}"
    );
}

/// The step below the floor is not taken, the step above the rate neither.
#[test]
fn where_no_step_lies_between_floor_and_rate_nothing_goes_out() {
    for (least, most, step) in [(3.96, 3.99, "1 gal/ac"), (3.96, 3.99, "0.1 gal/ac")] {
        let (rate, note, _) = note_and_steps(&starter(2.0, least, most, step));
        close(rate, 0.0);
        assert!(
            note.contains(&format!(
                "no step of {step} lies between 3.96 gal/ac and 3.99 gal/ac"
            )),
            "{note}"
        );
    }
}

/// Barely short of phosphorus: the usual 3 gal/ac. A floor 3 % above it holds the starter back, one 3 % below does not.
#[test]
fn a_floor_just_over_the_rate_holds_it_back_and_one_just_under_does_not() {
    let (rate, note, _) = note_and_steps(&starter(17.999_9, 3.09, 9.0, "0.001 gal/ac"));
    close(rate, 0.0);
    assert!(note.contains("3 gal/ac is the most here"), "{note}");
    let (rate, note, _) = note_and_steps(&starter(17.999_9, 2.91, 9.0, "0.001 gal/ac"));
    close(rate, 3.0);
    assert!(note.is_empty(), "{note}");
}

/// The recipe goes from 2 to 6 gal/ac. The remark on the pump stands where it meters nothing of that, by 2 % or more, on either side; its
/// speed is 5 mph times the pump's end over the recipe's.
#[test]
fn a_pump_beside_the_recipes_range_is_told_and_one_that_reaches_it_is_not() {
    let remark = |least: f64, most: f64| {
        let prescription = starter(2.0, least, most, "0.001 gal/ac").prescribed();
        let found = prescription.remarks.iter().find(|r| r.code == "pump-range");
        found.map(|r| (r.what.clone(), r.help.clone().unwrap_or_default()))
    };
    assert_eq!(remark(5.88, 9.0), None);
    assert_eq!(remark(0.5, 2.04), None);
    let (what, help) = remark(6.12, 9.0).expect("a remark");
    assert_eq!(
        what,
        "at 5 mph the pump meters 6.12 gal/ac to 9 gal/ac, outside the recipe's 2 gal/ac to 6 gal/ac"
    );
    assert!(help.starts_with("plant at 5.1 mph"), "{help}");
    let (_, help) = remark(0.5, 1.96).expect("a remark");
    assert!(help.starts_with("plant at 4.9 mph"), "{help}");
}

/// One load and a little more, and one that is not full: 33.5 ac and 32.5 ac at 3 gal/ac of a tank of 100 gal. A gallon weighs its litres times
/// the density of the blend.
#[test]
fn a_tank_that_is_not_quite_full_is_one_part_load() {
    for (acres, wanted) in [(33.5, vec![(1, 100.0), (1, 0.5)]), (32.5, vec![(1, 97.5)])] {
        let made = Made::new(&[acres * 0.404_685_642_24])
            .sound()
            .with(Phosphorus, &[17.999_9])
            .settings(|settings| {
                settings.machine.tank = quantity("100 gal");
                settings.machine.liquid_step = Some(quantity("0.01 gal/ac"));
            });
        let recipe = made.prescribed().recipe.expect("a recipe");
        let loads: Vec<(u32, f64)> = (recipe.loads.iter())
            .map(|load| (load.count, load.volume.number_in(UnitSystem::UnitedStates)))
            .collect();
        assert_eq!(loads.len(), wanted.len(), "{loads:?}");
        for (found, wanted) in loads.iter().zip(wanted) {
            assert_eq!(found.0, wanted.0);
            assert!((found.1 - wanted.1).abs() < 1e-6, "{loads:?}");
        }
        for load in &recipe.loads {
            let mass = load.volume.litres() * recipe.density.kilograms_per_litre();
            assert!((load.mass.kilograms() - mass).abs() < 1e-9 * mass);
        }
    }
}

// ------------------------------------------------------------------------------------------------ amendments and their step

/// Lime of 6 496.875 lb/ac (see `rates::acid_ground_is_limed_by_the_buffers_rule`), told as rounded only where it is.
#[test]
fn a_need_is_told_as_rounded_only_where_the_step_changes_it() {
    let steps = |step: &str| {
        let made = Made::one()
            .sound()
            .with(Ph, &[5.4])
            .with(BufferPh, &[6.5])
            .settings(|settings| settings.machine.dry_step = Some(quantity(step)));
        let prescription = made.prescribed();
        let found = rate_of(&prescription, "lime").steps.join("; ");
        (applied(&prescription, "lime"), found)
    };
    let (rate, said) = steps("100 lb/ac");
    close(rate, 6_400.0);
    assert!(
        said.contains("rounded down to the step of 100 lb/ac: 6400 lb/ac"),
        "{said}"
    );
    // The maps hold their values in single precision, so that the need itself is taken for the step.
    let made = Made::one().sound().with(Ph, &[5.4]).with(BufferPh, &[6.5]);
    let need = rate_of(&made.prescribed(), "lime").needed;
    let need = need.number_in(UnitSystem::UnitedStates);
    let (rate, said) = steps(&format!("{need} lb/ac"));
    close(rate, need);
    assert!(!said.contains("rounded"), "{said}");
}
