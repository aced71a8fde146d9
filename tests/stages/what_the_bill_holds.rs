//! Stage tests: what is billed can be ordered, and what is said of money, rates and the consultant's word is what was done.

use lowstave::analyte::Analyte::*;
use lowstave::plan::{Override, Price, Shed, YieldGoal};
use lowstave::provenance::Place;
use lowstave::rates::{Fix, Prescription, ZoneRates, prescribe_without_words};
use lowstave::remark::{Level, Remark};
use lowstave::rulebook::Rulebook;
use lowstave::units::{MassPerArea, MoneyPerArea, ProductRate, UnitSystem, VolumePerArea};

use crate::made_zones::{Made, find, key, quantity, rate};

fn dollars(money: MoneyPerArea) -> f64 {
    money.number_in(UnitSystem::UnitedStates)
}

fn first(made: &Made) -> ZoneRates {
    made.prescribed().zones.remove(0)
}

fn fix<'z>(zone: &'z ZoneRates, name: &str) -> Option<&'z Fix> {
    zone.fixes.iter().find(|fix| fix.name == name)
}

/// 70 ppm of potassium, no yield goal: no product has a rate.
fn short_of_potassium() -> Made {
    Made::one()
        .sound()
        .layer(key(Potassium, "mehlich-3", "0-6 in"), "ppm", &[70.0])
}

// ----------------------------------------------------------------------------------------- what has no product and no rate

#[test]
fn potassium_without_a_rate_is_told_and_not_billed() {
    let zone = first(&short_of_potassium());
    let source = fix(&zone, "potassium_source").expect("it is short");
    assert_eq!(dollars(source.cost), 0.0);
    assert_eq!(dollars(source.cost_a_year), 0.0);
    assert!(source.what.contains("no rate given"), "{}", source.what);
    // The guess of 30 USD/ac still orders it.
    assert!(
        source.arithmetic.contains("cost 30.00") && source.arithmetic.contains("nothing is billed"),
        "{}",
        source.arithmetic
    );
    assert!(source.score.is_finite() && source.score > 0.0);
}

/// What nobody can price yet is worth a zone all the same.
#[test]
fn where_zones_are_only_compared_the_guess_counts() {
    let made = short_of_potassium();
    let rulebook = Rulebook::built_in();
    let compared = prescribe_without_words(
        &made.settings,
        &made.field,
        &made.surfaces,
        &made.zones,
        &made.diagnosis(&rulebook),
        &rulebook,
    )
    .expect("rates");
    let source = fix(&compared.zones[0], "potassium_source").expect("it is short");
    assert!((dollars(source.cost) - 30.0).abs() < 1e-9);
}

/// 8 USD/ac pay the starter of ground that is short of both; before, the budget went to potassium that nobody could order.
#[test]
fn what_has_no_rate_takes_nothing_of_the_budget() {
    let rich = short_of_potassium().with(Phosphorus, &[10.0]);
    let starter = rate(&first(&rich), "starter");
    assert!(starter > 0.0);
    let held = rich.settings(|settings| settings.budget = Some(quantity("9 USD/ac")));
    let outcome = held.prescribed();
    assert_eq!(rate(&outcome.zones[0], "starter"), starter);
    let spent = dollars(outcome.budget.expect("a budget").spent);
    assert!(spent > 0.0 && spent <= 9.0, "{spent}");
    let source = fix(&outcome.zones[0], "potassium_source").expect("it is short");
    assert!(!source.left_out);
}

/// 6 dS/m close all that carries salt: nobody is told to bring potassium there as a salt.
#[test]
fn no_potassium_is_asked_for_where_salt_holds_it_back() {
    let salty = short_of_potassium().layer(
        key(ElectricalConductivity, "paste", "0-6 in"),
        "dS/m",
        &[6.0],
    );
    assert!(fix(&first(&short_of_potassium()), "potassium_source").is_some());
    let zone = first(&salty);
    assert!(
        fix(&zone, "potassium_source").is_none(),
        "{:#?}",
        zone.fixes
    );
}

/// Rules of one's own can still bill it.
#[test]
fn a_rulebook_may_bill_what_it_knows_the_price_of() {
    let text = "[fix.potassium_source]\nhas_no_rate = false\ncost = \"41 USD/ac\"\n";
    let own = Rulebook::from_text(text, "own.toml").expect("a rulebook");
    let zone = short_of_potassium().prescribed_by(&own).zones.remove(0);
    let source = fix(&zone, "potassium_source").expect("it is short");
    assert!((dollars(source.cost) - 41.0).abs() < 1e-9);
}

// ------------------------------------------------------------------------------------- what something else brings already

/// pH 5.2 and 30 ppm of magnesium: dolomitic lime of 11 % magnesium brings hundreds of pounds where the table asks for 50.
#[test]
fn magnesium_that_dolomitic_lime_brings_is_not_ordered_and_billed_again() {
    let short = Made::one().sound().with(Magnesium, &[30.0]);
    // Nothing but lime may be bought, so that no sulfate answers for it.
    let shed = |made: Made| {
        made.settings(|settings| {
            settings.supply.shed = Some(Shed {
                products: vec!["dolomitic_lime".into()],
                ..Shed::default()
            });
        })
    };
    let acid = first(&shed(short.clone().with(Ph, &[5.2]).with(BufferPh, &[6.3])));
    assert!(rate(&acid, "dolomitic_lime") > 500.0);
    assert!(
        fix(&acid, "magnesium_source").is_none(),
        "{:#?}",
        acid.fixes
    );
    let sound = first(&shed(short));
    assert_eq!(rate(&sound, "dolomitic_lime"), 0.0);
    let source = fix(&sound, "magnesium_source").expect("it is short and nothing brings it");
    assert_eq!(dollars(source.cost), 0.0);
}

// ------------------------------------------------------------------------------------------------ the consultant's word

fn said(made: Made, product: &str, rate: ProductRate, force: bool) -> ZoneRates {
    let word = Override {
        zone: 1,
        at: None,
        inside: Vec::new(),
        product: product.into(),
        rate,
        why: "seen on foot".into(),
        force,
        place: Place::file("plan.toml").at_key("override[1]"),
    };
    first(&made.settings(|settings| settings.overrides = vec![word]))
}

fn pounds(text: &str) -> ProductRate {
    ProductRate::Mass(quantity::<MassPerArea>(text))
}

fn gallons(text: &str) -> ProductRate {
    ProductRate::Volume(quantity::<VolumePerArea>(text))
}

#[test]
fn a_word_that_was_cut_keeps_what_was_asked_and_why_it_was_cut() {
    let zone = said(Made::one().sound(), "gypsum", pounds("9000 lb/ac"), false);
    let gypsum = find(&zone, "gypsum").expect("gypsum");
    let cut = gypsum.cut.as_ref().expect("it was cut");
    assert!((cut.asked.number_in(UnitSystem::UnitedStates) - 9_000.0).abs() < 1e-6);
    assert!(
        cut.what.starts_with("cut to 4,000 lb/ac: ") || cut.what.starts_with("cut to 4000 lb/ac: "),
        "{}",
        cut.what
    );
    assert!(
        zone.reason.contains("(the consultant set 9,000 lb/ac)")
            || zone.reason.contains("(the consultant set 9000 lb/ac)"),
        "{}",
        zone.reason
    );
    assert!(
        !zone.reason.contains("by the consultant's word"),
        "{}",
        zone.reason
    );
}

/// 6 dS/m hold the starter back: nobody set it to 0.
#[test]
fn a_word_that_salt_holds_back_is_no_word_for_nothing() {
    let salty = Made::one().sound().layer(
        key(ElectricalConductivity, "paste", "0-6 in"),
        "dS/m",
        &[6.0],
    );
    let zone = said(salty.clone(), "starter", gallons("5 gal/ac"), false);
    assert_eq!(rate(&zone, "starter"), 0.0);
    let cut = find(&zone, "starter").and_then(|rate| rate.cut.as_ref());
    assert!(
        cut.is_some_and(|cut| cut.what.contains("conductivity")),
        "{cut:?}"
    );
    assert!(
        zone.reason
            .contains("no starter (the consultant set 5 gal/ac)"),
        "{}",
        zone.reason
    );
    // What goes out as it was set was not cut, forced or not.
    let forced = said(salty, "starter", gallons("5 gal/ac"), true);
    let sound = said(Made::one().sound(), "starter", gallons("4 gal/ac"), false);
    for zone in [forced, sound] {
        assert!(find(&zone, "starter").is_some_and(|rate| rate.cut.is_none()));
        assert!(
            zone.reason.contains("by the consultant's word"),
            "{}",
            zone.reason
        );
    }
}

// ------------------------------------------------------------------------------------------ what is said once for the field

fn remark<'p>(prescription: &'p Prescription, code: &str) -> Option<&'p Remark> {
    prescription
        .remarks
        .iter()
        .find(|remark| remark.code == code)
}

fn with_goal(made: Made) -> Made {
    made.settings(|settings| {
        settings.supply.yield_goals = vec![("corn".into(), YieldGoal::BushelsPerAcre(180.0))];
    })
}

/// Phosphorus is short in two zones, potassium in one of them; no table tells how much without a yield goal.
#[test]
fn what_is_short_and_has_no_rate_is_said_with_its_zones_and_the_way_out() {
    let made = Made::new(&[10.0, 10.0, 10.0])
        .sound()
        .with(Phosphorus, &[10.0, 10.0, 60.0])
        .layer(
            key(Potassium, "mehlich-3", "0-6 in"),
            "ppm",
            &[200.0, 60.0, 200.0],
        );
    let without = made.prescribed();
    let said = remark(&without, "no-rate").expect("a remark");
    assert_eq!(said.level, Level::Warning);
    let number = |place: usize| {
        let mut zones = without.zones.iter();
        zones
            .find(|zone| zone.zone == place)
            .expect("a zone")
            .number
    };
    let (one, other) = (number(0).min(number(1)), number(0).max(number(1)));
    assert_eq!(
        said.what,
        format!(
            "no rate for what is short: phosphate in zones {one}, {other}; potash in zone {}",
            number(1)
        )
    );
    let help = said.help.as_deref().unwrap_or_default();
    assert!(help.contains("[yield_goal] corn"), "{help}");
    let with = with_goal(made).prescribed();
    assert!(remark(&with, "no-rate").is_none(), "{:#?}", with.remarks);
}

/// What the consultant sets is a rate.
#[test]
fn a_consultants_rate_of_what_is_short_is_a_rate() {
    let word = Override {
        zone: 1,
        at: None,
        inside: Vec::new(),
        product: "potassium_sulfate".into(),
        rate: pounds("200 lb/ac"),
        why: "seen on foot".into(),
        force: false,
        place: Place::file("plan.toml").at_key("override[1]"),
    };
    let made = short_of_potassium();
    assert!(remark(&made.prescribed(), "no-rate").is_some());
    let set = made.settings(|settings| settings.overrides = vec![word]);
    assert!(remark(&set.prescribed(), "no-rate").is_none());
}

/// Gypsum at the rulebook's price, at the plan's, and at a price of the user's own rulebook.
#[test]
fn prices_that_nobody_gave_are_named() {
    let made = Made::one().sound().with(CalciumSaturation, &[60.0]);
    let assumed = made.prescribed();
    let said = remark(&assumed, "prices-assumed").expect("a remark");
    assert_eq!(said.level, Level::Assumption);
    assert!(
        said.what.starts_with("no price is given for gypsum: "),
        "{}",
        said.what
    );
    let price = Price::PerMass(quantity("50 USD/ton"));
    let given = made
        .clone()
        .settings(|settings| settings.prices = vec![("gypsum".into(), price)]);
    assert!(remark(&given.prescribed(), "prices-assumed").is_none());
    let text = "[product.gypsum]\nprice = \"45 USD/ton\"\n";
    let own = Rulebook::from_text(text, "own.toml").expect("a rulebook");
    assert!(remark(&made.prescribed_by(&own), "prices-assumed").is_none());
    // What is not bought has no price to name.
    assert!(remark(&Made::one().sound().prescribed(), "prices-assumed").is_none());
}

/// 60 ppm of calcium saturation short in one zone: 28.80 USD/ac of gypsum. Corn of 180 bu at 0.30 USD/bu brings 54, at 0.40 brings 72.
#[test]
fn a_season_that_costs_more_than_half_of_the_crop_is_said() {
    let made_at = |bushel: f64| {
        let per_kilogram = bushel / (56.0 * 0.453_592_37);
        Made::new(&[10.0, 10.0])
            .sound()
            .with(CalciumSaturation, &[60.0, 70.0])
            .settings(|settings| settings.crop_price = Some(per_kilogram))
    };
    let corn_at = |bushel: f64| with_goal(made_at(bushel));
    let (without_goal, dear) = (made_at(0.3).prescribed(), corn_at(0.3).prescribed());
    assert!(remark(&without_goal, "dear-season").is_none());
    let zone = dear
        .zones
        .iter()
        .find(|zone| rate(zone, "gypsum") > 0.0)
        .expect("gypsum");
    assert!(
        (dollars(zone.cost) - 28.8).abs() < 0.01,
        "{}",
        dollars(zone.cost)
    );
    let said = remark(&dear, "dear-season").expect("a remark");
    assert_eq!(
        said.what,
        format!(
            "zone {} costs 29 USD/ac, more than 50 % of the 54 USD/ac that the crop brings at the plan's yield and price",
            zone.number
        )
    );
    // The share is the rulebook's: 28.80 of 54 is less than six tenths.
    let text = "[number.dear_season_from]\nvalue = 0.6\n";
    let own = Rulebook::from_text(text, "own.toml").expect("a rulebook");
    let borne = corn_at(0.3).prescribed_by(&own);
    assert!(remark(&borne, "dear-season").is_none());
    let cheap = corn_at(0.4).prescribed();
    assert!(
        remark(&cheap, "dear-season").is_none(),
        "{:#?}",
        cheap.remarks
    );
}
