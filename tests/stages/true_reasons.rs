//! Stage tests: needs that grow are not answered with less, and what does not go out says why. Figures by hand from the rulebook's own numbers.

use lowstave::analyte::Analyte;
use lowstave::analyte::Analyte::*;
use lowstave::plan::{Price, Shed, YieldGoal};
use lowstave::rates::{Prescription, ZoneRates};
use lowstave::remark::Level;
use lowstave::rulebook::Rulebook;
use lowstave::units::UnitSystem;

use crate::made_zones::{Made, find, key, quantity, rate};

fn tri_state() -> Rulebook {
    Rulebook::of_region("tri-state").expect("a region")
}

/// Ohio, corn of 180 bu, which takes 63 lb P2O5.
fn corn_of_180(made: Made) -> Made {
    made.settings(|settings| {
        settings.supply.region = Some("tri-state".into());
        settings.supply.yield_goals = vec![("corn".into(), YieldGoal::BushelsPerAcre(180.0))];
    })
}

fn phosphorus(ppm: f64) -> Made {
    corn_of_180(Made::one().sound().with(Phosphorus, &[ppm]))
}

fn first(made: &Made, rulebook: &Rulebook) -> ZoneRates {
    made.prescribed_by(rulebook).zones.remove(0)
}

fn caution<'z>(zone: &'z ZoneRates, word: &str) -> &'z str {
    let mut cautions = zone.cautions.iter();
    let found = cautions.find(|caution| caution.contains(word));
    found.unwrap_or_else(|| panic!("no {word:?} in {:#?}", zone.cautions))
}

fn is_said(zone: &ZoneRates, word: &str) -> bool {
    zone.cautions.iter().any(|caution| caution.contains(word))
}

fn note<'z>(zone: &'z ZoneRates, product: &str) -> &'z str {
    let rate = find(zone, product).unwrap_or_else(|| panic!("no {product}"));
    rate.note.as_deref().unwrap_or_default()
}

fn needed(zone: &ZoneRates, product: &str) -> f64 {
    find(zone, product).map_or(0.0, |rate| rate.needed.number_in(UnitSystem::UnitedStates))
}

fn close(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() <= 1e-3 * wanted.abs().max(1.0),
        "{found} is not {wanted}"
    );
}

// ------------------------------------------------------------------------------------------------------ the nutrient mix

/// (20 - ppm) x 5 + 63 lb: at 14 ppm and below the need passes 93 lb, where each pound once counted for less than bone meal costs.
#[test]
fn ground_that_is_shorter_of_phosphorus_gets_no_less() {
    let rulebook = tri_state();
    let mut before = 0.0;
    for ppm in [19.0, 17.0, 15.0, 14.0, 13.0, 10.0, 5.0, 1.0] {
        let bone_meal = rate(&first(&phosphorus(ppm), &rulebook), "bone_meal");
        assert!(
            bone_meal > 0.0 && bone_meal >= before,
            "{ppm} ppm: {bone_meal} after {before}"
        );
        before = bone_meal;
    }
    close(before, 600.0);
}

/// 5 ppm: 138 lb, and 600 lb of bone meal bring 78 of them.
#[test]
fn what_a_cap_leaves_unmet_names_the_cap() {
    let zone = first(&phosphorus(5.0), &tri_state());
    let told = caution(&zone, "left unmet");
    assert!(
        told.contains("bone meal, steamed is at its most, 600 lb/ac"),
        "{told}"
    );
}

/// 0.95 USD for a pound of 13 % is 7.31 USD for one of P2O5; 400 USD for 60 lb is 6.67.
#[test]
fn what_is_too_dear_is_called_too_dear() {
    let price = Price::PerMass(quantity("0.95 USD/lb"));
    let dear = phosphorus(10.0).settings(|s| s.prices = vec![("bone_meal".into(), price)]);
    let zone = first(&dear, &tri_state());
    assert_eq!(rate(&zone, "bone_meal"), 0.0);
    let told = caution(&zone, "left unmet");
    assert!(
        told.contains("is too dear") && told.contains("7.31 USD/lb"),
        "{told}"
    );
    assert!(!told.contains("at its most"), "{told}");
}

#[test]
fn where_nothing_may_be_used_that_is_the_reason() {
    let made = phosphorus(10.0).settings(|settings| {
        settings.supply.shed = Some(Shed {
            products: vec!["gypsum".into()],
            ..Shed::default()
        });
    });
    let zone = first(&made, &tri_state());
    let told = caution(&zone, "left unmet");
    assert!(
        told.contains("nothing that may be used brings it"),
        "{told}"
    );
}

/// Its own source: bone meal acts below pH 7 only.
#[test]
fn bone_meal_stays_off_ground_without_acid() {
    let rulebook = tri_state();
    let at = |ph: f64| first(&phosphorus(10.0).with(Ph, &[ph]), &rulebook);
    assert!(rate(&at(6.9), "bone_meal") > 0.0);
    for ph in [7.0, 8.6] {
        let zone = at(ph);
        assert_eq!(rate(&zone, "bone_meal"), 0.0, "pH {ph}");
        let told = caution(&zone, "left unmet");
        assert!(
            told.contains("bone meal, steamed does not go out here") && told.contains("pH 7"),
            "{told}"
        );
    }
}

/// Rules in which phosphorus that is short asks for so many pounds, and no furrow is opened.
fn asks(pounds: f64) -> Rulebook {
    let text = format!(
        "[rate.national_phosphate]\nform = \"steps\"\nsteps = [[0, {pounds}]]\n[crop.corn]\ntakes_starter = false\n"
    );
    Rulebook::from_text(&text, "own.toml").expect("rules")
}

/// Compost for a C:N of 10 brings phosphate; the ceiling of 2 x 50 lb counts it once, so that bone meal covers what it leaves.
#[test]
fn the_phosphate_of_compost_counts_once_under_the_ceiling() {
    let made = Made::one()
        .sound()
        .with(Phosphorus, &[10.0])
        .with(CarbonNitrogenRatio, &[10.0]);
    let zone = first(&made, &asks(50.0));
    let (compost, bone_meal) = (rate(&zone, "compost"), rate(&zone, "bone_meal"));
    assert!(compost * 0.005 > 20.0, "{compost}");
    let acts = compost * 0.005 + bone_meal * 0.13;
    assert!(acts >= 0.97 * 50.0, "{compost} and {bone_meal}");
    assert!(!is_said(&zone, "left unmet"), "{:?}", zone.cautions);
    assert!(compost * 0.005 + bone_meal * 0.27 <= 100.0);
}

/// 2 x 60 lb of total phosphate are in 444.4 lb of bone meal, of which 57.8 lb act: 2.2 lb, 3.7 %, stay unmet.
#[test]
fn the_ceiling_that_holds_a_rate_is_told() {
    let zone = first(&Made::one().sound().with(Phosphorus, &[10.0]), &asks(60.0));
    let ceiling = "is held by the ceiling of phosphate: 120 lb/ac, 2 x the 60 lb/ac that are short";
    let told = caution(&zone, "left unmet");
    assert!(told.contains(ceiling), "{told}");
    let steps = find(&zone, "bone_meal").expect("a rate").steps.join("; ");
    assert!(steps.contains(ceiling), "{steps}");
}

// ------------------------------------------------------------------------------------------------------------------ lime

fn acid(ph: f64, buffer: f64) -> Made {
    Made::one()
        .sound()
        .with(Ph, &[ph])
        .with(BufferPh, &[buffer])
}

fn remarks<'p>(prescription: &'p Prescription, code: &str) -> Vec<&'p str> {
    let remarks = prescription
        .remarks
        .iter()
        .filter(|remark| remark.code == code);
    remarks.map(|remark| remark.what.as_str()).collect()
}

/// SMP 6.0 is the least that the rule of 1995 is made for: (60.4 - 52.2) ton/ac x 6/8 x 90/80 = 13,837 lb.
#[test]
fn a_buffer_below_the_rules_range_gives_a_need_that_is_at_least_so_much() {
    let inside = acid(4.5, 6.0).prescribed();
    let below = acid(4.5, 5.6).prescribed();
    for prescription in [&inside, &below] {
        close(needed(&prescription.zones[0], "lime"), 13_837.5);
    }
    assert!(remarks(&inside, "need-at-least").is_empty());
    let told = remarks(&below, "need-at-least");
    let [told] = told.as_slice() else {
        panic!("{told:?}");
    };
    assert!(
        told.contains("13837 lb/ac or more") && told.contains("below 6"),
        "{told}"
    );
    let steps = |prescription: &Prescription| {
        let zone = &prescription.zones[0];
        find(zone, "lime").expect("a rate").steps.join("; ")
    };
    let told = steps(&below);
    for part in [
        "down to 5.6",
        "it counts as 6",
        "the rest over at least 1 more",
    ] {
        assert!(told.contains(part), "{part}: {told}");
    }
    assert!(!steps(&inside).contains("at least"), "{}", steps(&inside));
}

#[test]
fn ground_that_is_acid_by_its_ph_alone_says_why_nothing_is_done() {
    let zone = acid(5.5, 6.95).prescribed().zones.remove(0);
    assert_eq!(rate(&zone, "lime"), 0.0);
    let told = note(&zone, "lime");
    for part in ["below 6", "no lime is needed", "pH 6.5"] {
        assert!(told.contains(part), "{told}");
    }
    // What is not too acid has no such word.
    let sound = acid(6.6, 6.95).prescribed().zones.remove(0);
    assert!(find(&sound, "lime").is_none_or(|rate| rate.note.is_none()));
}

/// A field whose layer has another value in the first of its 16 cells.
fn one_cell(made: Made, layer: (Analyte, &str), (odd, usual): (f64, f64)) -> Made {
    let key = key(layer.0, layer.1, "0-6 in");
    let mut made = made;
    made.surfaces.surfaces.retain(|surface| surface.key != key);
    made.field.layers.retain(|layer| layer.key != key);
    made.cell_layer(key, "pH", |cell| if cell == 0 { odd } else { usual })
}

/// One cell of 16 at pH 5.9, buffer 6.9: (60.4 - 60.03) ton/ac x 6/8 x 90/80 / 16 = 39 lb, which is no need of the zone.
#[test]
fn a_few_acid_cells_of_a_sound_zone_are_no_need_that_is_not_applied() {
    let made = one_cell(Made::one().sound(), (Ph, "water"), (5.9, 6.65));
    let zone = one_cell(made, (BufferPh, "smp"), (6.9, 7.0))
        .prescribed()
        .zones
        .remove(0);
    close(needed(&zone, "lime"), 39.02);
    assert!(
        note(&zone, "lime").starts_with("39 lb/ac is less than can be spread"),
        "{}",
        note(&zone, "lime")
    );
    assert!(!zone.do_first.contains("Needed"), "{}", zone.do_first);
    assert!(
        !zone.do_first.contains("Nothing is spread"),
        "{}",
        zone.do_first
    );
}

/// Where acidity is a finding, what is too little to spread is still said: buffer 6.93, 184 lb.
#[test]
fn a_finding_that_asks_for_too_little_to_spread_is_still_named() {
    let zone = acid(5.5, 6.93).prescribed().zones.remove(0);
    assert!(
        note(&zone, "lime").starts_with("184 lb/ac is less than can be spread"),
        "{}",
        note(&zone, "lime")
    );
    let fixed_by_tests = zone.fixes.iter().any(|fix| fix.is_test);
    assert!(
        fixed_by_tests
            || zone
                .do_first
                .contains("Nothing is spread for acidity: lime"),
        "{}",
        zone.do_first
    );
}

// --------------------------------------------------------------------------------------------------------------- budget

/// 8,000 lb of lime, the most of a season, cost 128 USD/ac; 50 USD/ac buy 3,125 lb.
#[test]
fn a_budget_that_is_a_little_short_buys_a_part_of_the_lime() {
    let made = acid(4.5, 6.0).settings(|settings| settings.budget = Some(quantity("50 USD/ac")));
    let prescription = made.prescribed();
    let zone = &prescription.zones[0];
    close(rate(zone, "lime"), 3_120.0);
    let lime = find(zone, "lime").expect("a rate");
    // 13,837 - 3,120 at 3,120 a season.
    assert_eq!(lime.seasons_after, 4);
    assert!(
        lime.steps
            .join("; ")
            .contains("the budget buys 3120 lb/ac of the 8000 lb/ac"),
        "{:?}",
        lime.steps
    );
    let outcome = prescription.budget.as_ref().expect("an outcome");
    let spent = outcome.spent.number_in(UnitSystem::UnitedStates);
    assert!((49.0..=50.0).contains(&spent), "{spent}");
    assert!(
        outcome
            .left_out
            .iter()
            .any(|line| line.contains("4880 lb/ac of the 8000 lb/ac of")),
        "{outcome:?}"
    );
    assert!(
        zone.fixes
            .iter()
            .any(|fix| fix.name == "lime" && !fix.left_out)
    );
}

/// 5 USD/ac buy 312 lb, less than spreads: nothing is bought, and nowhere does the money go further.
#[test]
fn a_budget_that_does_not_reach_says_so() {
    let made = acid(4.5, 6.0).settings(|settings| settings.budget = Some(quantity("5 USD/ac")));
    let zone = made.prescribed().zones.remove(0);
    assert_eq!(rate(&zone, "lime"), 0.0);
    let told = note(&zone, "lime");
    assert!(
        told.contains("the budget does not reach") && !told.contains("elsewhere"),
        "{told}"
    );
}

// ----------------------------------------------------------------------------------------------------------- maintenance

/// Between 20 and 40 ppm the table of Tri-State gives back what the crop takes: 180 bu x 0.35 lb.
#[test]
fn maintenance_that_is_not_ordered_is_told() {
    let rulebook = tri_state();
    let at = |ppm: f64| phosphorus(ppm).prescribed_by(&rulebook);
    let between = at(30.0);
    let told = caution(&between.zones[0], "maintenance 63 lb/ac");
    assert!(
        told.contains("is not ordered") && told.contains("up to 40"),
        "{told}"
    );
    let remark = between
        .remarks
        .iter()
        .find(|remark| remark.code == "maintenance-not-ordered");
    assert_eq!(remark.expect("a remark").level, Level::Info);
    for ppm in [15.0, 41.0] {
        let other = at(ppm);
        assert!(
            remarks(&other, "maintenance-not-ordered").is_empty(),
            "{ppm}"
        );
        assert!(!is_said(&other.zones[0], "is not ordered"), "{ppm}");
    }
}

/// pH 9.2: sulfur would be the answer to alkalinity, and on free lime it is never put. That is no need that waits.
#[test]
fn what_is_never_put_on_a_ground_is_not_called_needed_there() {
    // Tests that are asked for stand before it.
    let no_tests = Rulebook::from_text("[number.test_from_severity]\nvalue = 1\n", "mine.toml");
    let made = Made::one().sound().with(Ph, &[9.2]);
    let zone = first(&made, &no_tests.expect("sound"));
    assert!(
        note(&zone, "elemental_sulfur").contains("never put on it"),
        "{}",
        note(&zone, "elemental_sulfur")
    );
    assert!(
        zone.do_first
            .starts_with("Nothing is spread for alkalinity: elemental sulfur"),
        "{}",
        zone.do_first
    );
}

/// Lime goes out: the sheet says that it is to be worked in, and what holds where it is not.
#[test]
fn where_lime_goes_out_it_is_said_that_it_is_worked_in() {
    let said = |made: Made| {
        let cautions = made.prescribed().cautions;
        cautions
            .iter()
            .any(|caution| caution.contains("Work lime in"))
    };
    assert!(said(acid(5.3, 6.3)));
    assert!(!said(Made::one().sound()));
}
