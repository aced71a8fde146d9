//! What several of these tests set up: words, sheds and missing layers of the made fields.

use lowstave::analyte::Analyte;
use lowstave::plan::{Override, Shed, Stock};
use lowstave::provenance::Place;
use lowstave::rates::{Fix, Prescription, Rate, ZoneRates};
use lowstave::rulebook::Rulebook;
use lowstave::units::{MassPerArea, MoneyPerArea, ProductRate, UnitSystem, VolumePerArea};

use crate::made_zones::{Made, find, quantity};

/// To a fifth of a percent.
#[track_caller]
pub(crate) fn close(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() <= 2e-3 * wanted.abs().max(1e-9),
        "{found} is not {wanted}"
    );
}

pub(crate) fn rules(text: &str) -> Rulebook {
    Rulebook::from_text(text, "own.toml").expect("rules")
}

pub(crate) fn mass(text: &str) -> ProductRate {
    ProductRate::Mass(quantity::<MassPerArea>(text))
}

pub(crate) fn volume(text: &str) -> ProductRate {
    ProductRate::Volume(quantity::<VolumePerArea>(text))
}

/// Rates of the consultant's in numbered zones, with steps so fine that rounding hides nothing.
pub(crate) fn with_words(made: Made, words: &[(u32, &str, ProductRate, bool)]) -> Made {
    let words = words.iter().map(|(zone, product, rate, force)| Override {
        zone: *zone,
        at: None,
        inside: Vec::new(),
        product: (*product).into(),
        rate: *rate,
        why: "seen on foot".into(),
        force: *force,
        place: Place::file("plan.toml").at_key("override[1]"),
    });
    let words = words.collect();
    made.settings(|settings| {
        settings.overrides = words;
        settings.machine.dry_step = Some(quantity("0.001 lb/ac"));
        settings.machine.liquid_step = Some(quantity("0.001 gal/ac"));
    })
}

pub(crate) fn with_shed(made: Made, products: &[&str], on_hand: Vec<(String, Stock)>) -> Made {
    made.settings(|settings| {
        settings.supply.shed = Some(Shed {
            products: products.iter().map(|name| (*name).to_owned()).collect(),
            on_hand,
            ..Shed::default()
        });
    })
}

/// The same ground with an analyte that nobody measured.
pub(crate) fn without(mut made: Made, analyte: Analyte) -> Made {
    made.surfaces.surfaces.retain(|s| s.key.analyte != analyte);
    made.field.layers.retain(|l| l.key.analyte != analyte);
    made
}

pub(crate) fn first(made: &Made) -> ZoneRates {
    made.prescribed().zones.remove(0)
}

pub(crate) fn rate_of<'a>(zone: &'a ZoneRates, product: &str) -> &'a Rate {
    find(zone, product).unwrap_or_else(|| panic!("no {product}: {:#?}", zone.rates))
}

pub(crate) fn needed(zone: &ZoneRates, product: &str) -> f64 {
    rate_of(zone, product)
        .needed
        .number_in(UnitSystem::UnitedStates)
}

pub(crate) fn fix_of<'a>(zone: &'a ZoneRates, name: &str) -> Option<&'a Fix> {
    zone.fixes.iter().find(|fix| fix.name == name)
}

/// Where a fix stands in the order.
#[track_caller]
pub(crate) fn place_of(zone: &ZoneRates, name: &str) -> usize {
    let place = zone.fixes.iter().position(|fix| fix.name == name);
    place.unwrap_or_else(|| panic!("no {name}: {:#?}", zone.fixes))
}

pub(crate) fn has_remark(prescription: &Prescription, code: &str) -> bool {
    prescription.remarks.iter().any(|r| r.code == code)
}

/// USD/ac.
pub(crate) fn us(money: MoneyPerArea) -> f64 {
    money.number_in(UnitSystem::UnitedStates)
}
