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
use crate::zones::{Undrawn, Zones};

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
    let ground = Ground {
        overrides: &settings.overrides,
        zones,
        diagnosis,
    };
    for said in &settings.overrides {
        let is_same =
            |known: &Word<'_>, zone: u32| known.zone == zone && known.said.product == said.product;
        let numbers = match ground.numbers(said) {
            Ok(numbers) => numbers,
            Err(error) => {
                errors.push(error);
                continue;
            }
        };
        for zone in numbers {
            match word(said, rulebook, zone) {
                Ok(word) if words.iter().any(|known| is_same(known, word.zone)) => {
                    errors.push(RatesError::Twice {
                        place: word.said.place.clone(),
                        product: said.product.clone(),
                        zone: word.zone,
                    });
                }
                Ok(word) => words.push(word),
                Err(error) => {
                    errors.push(error);
                    break;
                }
            }
        }
    }
    words
}

/// The zones that overrides are for.
struct Ground<'a> {
    overrides: &'a [Override],
    zones: &'a Zones,
    diagnosis: &'a Diagnosis,
}

impl Ground<'_> {
    /// The numbers of the zones that an override is for. What is said for a zone holds in a place that is drawn into it too, unless
    /// the place has a rate of its own for the product: drawing a place takes no word away.
    fn numbers(&self, said: &Override) -> Result<Vec<u32>, RatesError> {
        if !said.inside.is_empty() {
            let own = self
                .zones
                .drawn
                .iter()
                .find(|own| own.corners == said.inside);
            let number = own.and_then(|own| self.number_of(own.zone));
            return number
                .map(|number| vec![number])
                .ok_or_else(|| no_zone_there(said, said.inside[0]));
        }
        let zone = match said.at {
            Some(at) => self.undrawn_at(said, at)?,
            None => self.undrawn_by_number(said)?,
        };
        let undrawn = match zone {
            Meant::Zone(zone) => return Ok(self.number_of(zone).into_iter().collect()),
            Meant::Undrawn(undrawn) => undrawn,
        };
        let left = self.zones.undrawn.get(undrawn).and_then(|own| own.zone);
        let drawn = self.zones.drawn.iter().filter(|own| {
            let has_own_rate =
                |other: &Override| other.inside == own.corners && other.product == said.product;
            own.out_of == undrawn && !self.overrides.iter().any(has_own_rate)
        });
        let meant = left.into_iter().chain(drawn.map(|own| own.zone));
        Ok(meant.filter_map(|zone| self.number_of(zone)).collect())
    }

    /// The number of a zone by its place on the map.
    fn number_of(&self, zone: usize) -> Option<u32> {
        let mut zones = self.diagnosis.zones.iter();
        zones.find(|own| own.zone == zone).map(|own| own.number)
    }

    fn undrawn_by_number(&self, said: &Override) -> Result<Meant, RatesError> {
        let mut zones = self.diagnosis.zones.iter();
        let zone = zones.find(|own| own.number == said.zone);
        let zone = zone.ok_or_else(|| RatesError::UnknownZone {
            place: said.place.clone(),
            zone: said.zone,
            zones: self.diagnosis.zones.len(),
        })?;
        let is_left = |own: &Undrawn| own.zone == Some(zone.zone);
        let undrawn = self.zones.undrawn.iter().position(is_left);
        Ok(undrawn.map_or(Meant::Zone(zone.zone), Meant::Undrawn))
    }

    fn undrawn_at(&self, said: &Override, at: (f64, f64)) -> Result<Meant, RatesError> {
        let point = Point::from(at);
        let mut undrawn = self.zones.undrawn.iter();
        if let Some(found) = undrawn.position(|own| own.lonlat.intersects(&point)) {
            return Ok(Meant::Undrawn(found));
        }
        let holds = |zone: &&ZoneDiagnosis| {
            let shape = self.zones.zones.get(zone.zone).map(|zone| &zone.lonlat);
            shape.is_some_and(|shape| shape.intersects(&point))
        };
        let zone = self.diagnosis.zones.iter().find(holds);
        zone.map(|zone| Meant::Zone(zone.zone))
            .ok_or_else(|| no_zone_there(said, at))
    }
}

/// What an override is for: a zone by its place on the map, or one as it was before places were drawn into it.
enum Meant {
    Zone(usize),
    Undrawn(usize),
}

fn no_zone_there(said: &Override, (longitude, latitude): (f64, f64)) -> RatesError {
    RatesError::NoZoneThere {
        place: said.place.clone(),
        longitude: decimal(longitude, 6),
        latitude: decimal(latitude, 6),
    }
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
    rate.cut = None;
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
