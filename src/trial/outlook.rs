//! What check strips can show, said before seeding: the least difference beside the gain that pays.

use super::contrasts::TRIM;
use super::earlier_harvest::EarlierLines;
use super::layout::{Draw, FEWEST_CHECKS, Room, Run};
use super::statistics::{Scatter, is_shown_by_pairs, paired_least_difference, strips_needed};
use super::strip_plan::ZoneOutlook;
use super::treatment::Treatment;
use crate::plan::{Price, Settings, StripSettings};
use crate::rates::{Prescription, ProductUse, ZoneRates};
use crate::units::ProductRate;
use crate::units::{Density, MoneyPerArea, Quantity};

/// More checks than this nobody lays; a gain that needs more is not seen in one season.
const MOST_CHECKS: usize = 1_000;
const SQUARE_METRES_PER_HECTARE: f64 = 10_000.0;

/// What the outlook is made from.
#[derive(Clone, Copy)]
pub(super) struct Outlook<'a> {
    pub settings: &'a Settings,
    pub asked: &'a StripSettings,
    pub prescription: &'a Prescription,
    pub treatment: &'a Treatment,
    /// Standard deviation of the difference between a check and its sides, kg/ha: of an earlier harvest, the plan, or a guess.
    pub spread: f64,
}

impl Outlook<'_> {
    /// The number of checks that show the gain that is wanted, `most` at most; 0 where nothing is known of it.
    pub fn count_for_worth(&self, most: usize) -> usize {
        let wanted = self
            .treatment
            .zones
            .iter()
            .filter_map(|(zone, _)| self.wanted(*zone))
            .fold(f64::INFINITY, f64::min);
        if wanted.is_finite() {
            self.checks_for(wanted).unwrap_or(most).min(most)
        } else {
            0
        }
    }

    /// The least number of checks that show a gain; `None` beyond [`MOST_CHECKS`].
    fn checks_for(&self, gain: f64) -> Option<usize> {
        let is_shown = |count: usize| is_shown_by_pairs(count, gain / self.spread);
        if gain <= 0.0 || !is_shown(MOST_CHECKS) {
            return None;
        }
        let (mut too_few, mut enough) = (FEWEST_CHECKS - 1, MOST_CHECKS);
        while enough - too_few > 1 {
            let middle = usize::midpoint(too_few, enough);
            if is_shown(middle) {
                enough = middle;
            } else {
                too_few = middle;
            }
        }
        Some(enough)
    }

    /// The gain that the checks should show in a zone: what the plan says is worth seeing, else the gain that pays.
    fn wanted(&self, zone: u32) -> Option<f64> {
        self.asked.worth.or_else(|| self.pays_from(zone))
    }

    /// The gain that pays for the difference in products, kg/ha; `None` without the price of the crop or of a product.
    fn pays_from(&self, zone: u32) -> Option<f64> {
        let price = self.settings.crop_price.filter(|price| *price > 0.0)?;
        let of_zone = self.zone(zone)?;
        let strip = self.treatment.rates_in(zone)?;
        let mut cost = 0.0;
        for ((rate, own), product) in of_zone
            .rates
            .iter()
            .zip(strip)
            .zip(&self.prescription.products)
        {
            let difference = (rate.amount.per_hectare() - own.per_hectare()).abs();
            if difference > 0.0 {
                cost += difference * dollars_per_unit(product, rate.amount)?;
            }
        }
        Some(cost / price)
    }

    fn zone(&self, number: u32) -> Option<&ZoneRates> {
        self.prescription
            .zones
            .iter()
            .find(|zone| zone.number == number)
    }
}

/// What a strip's products cost more than its zone's; a product without a price counts for nothing, as in the zone.
pub(super) fn cost_change(
    prescription: &Prescription,
    zone: u32,
    own: &[ProductRate],
) -> MoneyPerArea {
    let rates = prescription
        .zones
        .iter()
        .find(|known| known.number == zone)
        .map_or(&[][..], |zone| zone.rates.as_slice());
    let dollars = rates
        .iter()
        .zip(own)
        .zip(&prescription.products)
        .map(|((rate, own), product)| {
            (own.per_hectare() - rate.amount.per_hectare())
                * dollars_per_unit(product, *own).unwrap_or_default()
        })
        .sum();
    MoneyPerArea::from_dollars_per_hectare(dollars)
}

/// What a kilogram or a litre of a product costs, United States dollars.
fn dollars_per_unit(product: &ProductUse, amount: ProductRate) -> Option<f64> {
    let density = product.density.map(Density::kilograms_per_litre);
    match (product.price?, amount) {
        (Price::PerMass(price), ProductRate::Mass(_)) => Some(price.stored()),
        (Price::PerVolume(price), ProductRate::Volume(_)) => Some(price.stored()),
        (Price::PerMass(price), ProductRate::Volume(_)) => Some(price.stored() * density?),
        (Price::PerVolume(price), ProductRate::Mass(_)) => Some(price.stored() / density?),
    }
}

/// What the checks of a draw can show in a zone.
pub(super) fn zone_outlook(
    outlook: &Outlook<'_>,
    room: &Room,
    drawn: &Draw,
    width_m: f64,
    earlier: Option<&(EarlierLines<'_>, Scatter)>,
) -> ZoneOutlook {
    let lengths: Vec<f64> = drawn
        .checks
        .iter()
        .flat_map(|check| &check.pieces)
        .filter(|piece| piece.zone == room.zone)
        .map(Run::length)
        .collect();
    let checks = lengths.len();
    let metres: f64 = lengths.iter().sum();
    let measured = || {
        let (lines, anywhere) = earlier?;
        lines.least_seen(room.zone, drawn, anywhere)
    };
    let is_judged = checks >= FEWEST_CHECKS;
    let measured = is_judged.then(measured).flatten();
    let guessed = || is_judged.then(|| paired_least_difference(checks) * outlook.spread);
    let shows = measured.or_else(guessed);
    let wanted = outlook.wanted(room.zone);
    let hectares = metres * width_m / SQUARE_METRES_PER_HECTARE;
    let price = outlook.settings.crop_price;
    ZoneOutlook {
        zone: room.zone,
        area_m2: room.area_m2,
        checks,
        metres,
        not_judged: not_judged(&lengths),
        shows,
        pays_from: outlook.pays_from(room.zone),
        wanted,
        needed: wanted.and_then(|wanted| match measured {
            Some(shows) if wanted > 0.0 => {
                Some(strips_needed(checks, shows, wanted)).filter(|needed| *needed <= MOST_CHECKS)
            }
            _ => outlook.checks_for(wanted),
        }),
        cost: price
            .zip(wanted)
            .map(|(price, wanted)| hectares * wanted * price),
    }
}

fn not_judged(lengths: &[f64]) -> Option<String> {
    match lengths {
        [] => Some("no check strip fits".to_owned()),
        [one] => Some(format!(
            "1 strip of {:.0} m; two are the least",
            one - 2.0 * TRIM
        )),
        _ => None,
    }
}
