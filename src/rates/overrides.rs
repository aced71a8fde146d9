//! The consultant's word on single rates. It replaces the calculated rate; the last gate holds it inside the caps unless it is forced.

use geo::{Intersects, Point};

use super::RatesError;
use super::pending_rate::PendingRate;
use super::prices::{unknown, wrong_form};
use super::zone_context::ZoneContext;
use crate::diagnosis::{Diagnosis, Finding, ZoneDiagnosis};
use crate::plan::{Override, Settings};
use crate::remark::Remark;
use crate::rulebook::{ProductName, Rulebook};
use crate::units::{Metering, ProductRate};
use crate::units::{Quantity, decimal};
use crate::zones::Zones;

/// An override with its rate in kg/ha or L/ha.
pub(super) struct Word<'a> {
    pub said: &'a Override,
    /// The zone's number.
    pub zone: u32,
    pub product: ProductName,
    pub metering: Metering,
    pub rate: f64,
}

impl Word<'_> {
    /// A warning that stands where the word stands in the plan.
    pub fn remark(&self, code: &'static str, what: String) -> Remark {
        Remark::warning(code, what).at(self.said.place.clone())
    }
}

/// The plan's overrides, checked.
pub(super) fn words<'a>(
    settings: &'a Settings,
    rulebook: &Rulebook,
    zones: &Zones,
    diagnosis: &Diagnosis,
    errors: &mut Vec<RatesError>,
) -> Vec<Word<'a>> {
    let mut words: Vec<Word<'a>> = Vec::new();
    for said in &settings.overrides {
        let zone = zone_of(said, zones, diagnosis);
        let is_same =
            |known: &Word<'_>, zone: u32| known.zone == zone && known.said.product == said.product;
        match zone.and_then(|zone| word(said, rulebook, zone)) {
            Ok(word) if words.iter().any(|known| is_same(known, word.zone)) => {
                errors.push(RatesError::Twice {
                    place: word.said.place.clone(),
                    product: said.product.clone(),
                    zone: word.zone,
                });
            }
            Ok(word) => words.push(word),
            Err(error) => errors.push(error),
        }
    }
    words
}

/// The number of the zone that an override is for.
fn zone_of(said: &Override, zones: &Zones, diagnosis: &Diagnosis) -> Result<u32, RatesError> {
    let place = || said.place.clone();
    let Some((longitude, latitude)) = said.at else {
        let count = diagnosis.zones.len();
        let is_known = (1..=count).contains(&(said.zone as usize));
        return if is_known {
            Ok(said.zone)
        } else {
            Err(RatesError::UnknownZone {
                place: place(),
                zone: said.zone,
                zones: count,
            })
        };
    };
    let at = Point::new(longitude, latitude);
    let holds = |zone: &&ZoneDiagnosis| {
        let shape = zones.zones.get(zone.zone).map(|zone| &zone.lonlat);
        shape.is_some_and(|shape| shape.intersects(&at))
    };
    let zone = diagnosis.zones.iter().find(holds);
    zone.map(|zone| zone.number)
        .ok_or_else(|| RatesError::NoZoneThere {
            place: place(),
            longitude: decimal(longitude, 6),
            latitude: decimal(latitude, 6),
        })
}

fn word<'a>(said: &'a Override, rulebook: &Rulebook, zone: u32) -> Result<Word<'a>, RatesError> {
    let place = || said.place.clone();
    let product = ProductName::new(&said.product);
    let metering = match (&product, rulebook.product(&product)) {
        (ProductName::Starter, _) => Metering::Liquid,
        (_, Some(product)) => product.metering,
        (_, None) => return Err(unknown(&product, place(), rulebook)),
    };
    let rate = match (said.rate, metering) {
        (ProductRate::Mass(rate), Metering::Dry) => rate.stored(),
        (ProductRate::Volume(rate), Metering::Liquid) => rate.stored(),
        _ => return Err(wrong_form(&product, metering, false, place())),
    };
    if !(rate >= 0.0 && rate.is_finite()) {
        return Err(RatesError::Negative {
            place: place(),
            product: said.product.clone(),
            what: "rate",
            found: decimal(rate, 3),
        });
    }
    Ok(Word {
        said,
        zone,
        product,
        metering,
        rate,
    })
}

/// Puts the consultant's word in the place of the calculated rate.
pub(super) fn apply(case: ZoneContext<'_>, word: &Word<'_>, pending: &mut Vec<PendingRate>) {
    let at = pending
        .iter()
        .position(|rate| rate.product == word.product)
        .unwrap_or_else(|| {
            pending.push(PendingRate::nothing(&word.product, word.metering));
            pending.len() - 1
        });
    let Some(rate) = pending.get_mut(at) else {
        return;
    };
    rate.steps.push(format!(
        "calculated {}; the consultant sets {}: {}",
        case.show(rate.amount, word.metering),
        case.show(word.rate, word.metering),
        word.said.why
    ));
    rate.amount = word.rate;
    rate.seasons_after = 0;
    rate.overridden = Some(word.said.why.clone());
    rate.note = None;
    rate.strip = None;
}

/// What is said of a word that opens what a finding closes; nothing where the rate came to nothing.
pub(super) fn against_gate(
    case: ZoneContext<'_>,
    word: &Word<'_>,
    rate: &mut PendingRate,
    gate: &Finding,
) -> Option<Remark> {
    if rate.amount <= 0.0 {
        return None;
    }
    let note = format!("against the gate: {}", gate.sentence);
    rate.note = Some(match rate.note.take() {
        Some(before) => format!("{before}; {note}"),
        None => note,
    });
    let what = format!(
        "{} in zone {} is opened by the plan against the gate: {}",
        rate.product, case.diagnosis.number, gate.sentence
    );
    Some(
        word.remark("override-against-gate", what)
            .help("lay a check strip, to see whether it does anything"),
    )
}
