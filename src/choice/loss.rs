//! What a wrong treatment costs: product and work that a place gets and does not ask for, and, weighing more, what it asks for and
//! does not get.

use std::collections::BTreeMap;

use crate::plan::Price;
use crate::rates::{Prescription, ZoneRates};
use crate::units::{Quantity, UnitSystem};

/// What a place or a zone gets, by name of product or of work.
#[derive(Debug, Clone, Default)]
pub(super) struct Given {
    rates: BTreeMap<String, Share>,
}

/// One product or one kind of work.
#[derive(Debug, Clone, Copy)]
struct Share {
    /// USD/ha.
    dollars: f64,
    /// kg/ha or L/ha; 1 for work.
    amount: f64,
    /// Smallest step of the rate.
    step: f64,
}

impl Given {
    /// By index into `Zones::zones`.
    pub fn by_zone(prescription: &Prescription, zones: usize) -> Vec<Self> {
        let mut given = vec![Self::default(); zones];
        for rates in &prescription.zones {
            if let Some(given) = given.get_mut(rates.zone) {
                *given = Self::of(rates, prescription);
            }
        }
        given
    }

    fn of(zone: &ZoneRates, prescription: &Prescription) -> Self {
        let products = zone.rates.iter().zip(&prescription.products);
        let mut rates: BTreeMap<String, Share> = products
            .map(|(rate, product)| {
                let amount = rate.amount.number_in(UnitSystem::Metric);
                let share = Share {
                    dollars: amount * product.price.map_or(0.0, dollars),
                    amount,
                    step: product.step.number_in(UnitSystem::Metric),
                };
                (rate.product.to_string(), share)
            })
            .collect();
        let is_work =
            |fix: &&crate::rates::Fix| fix.product.is_none() && !fix.is_test && !fix.left_out;
        for fix in zone.fixes.iter().filter(is_work) {
            let share = Share {
                dollars: fix.cost.dollars_per_hectare(),
                amount: 1.0,
                step: 0.5,
            };
            rates.insert(format!("{WORK}{}", fix.name), share);
        }
        Self { rates }
    }

    /// One treatment for two zones: rates between the two, and the work of the one that the larger part belongs to.
    pub fn between(&self, other: &Self, part: f64) -> Self {
        let names = self.rates.keys().chain(other.rates.keys());
        let none = Share {
            dollars: 0.0,
            amount: 0.0,
            step: 0.0,
        };
        let mixed = |name: &String| {
            let own = self.rates.get(name).copied().unwrap_or(none);
            let theirs = other.rates.get(name).copied().unwrap_or(none);
            let is_work = name.starts_with(WORK);
            let part = if is_work { part.round() } else { part };
            let mix = |a: f64, b: f64| part * a + (1.0 - part) * b;
            Share {
                dollars: mix(own.dollars, theirs.dollars),
                amount: mix(own.amount, theirs.amount),
                step: own.step.max(theirs.step),
            }
        };
        Self {
            rates: names.map(|name| (name.clone(), mixed(name))).collect(),
        }
    }

    /// Loss in USD/ha by name where this is given and `own` is what the place asks for; `under` weighs what is missing.
    pub fn losses(&self, own: &Self, under: f64) -> BTreeMap<String, f64> {
        let names = self.rates.keys().chain(own.rates.keys());
        names
            .map(|name| {
                let dollars = |given: &Self| given.rates.get(name).map_or(0.0, |s| s.dollars);
                let more = dollars(self) - dollars(own);
                (name.clone(), if more > 0.0 { more } else { -more * under })
            })
            .collect()
    }

    /// Whether a rate is more than one step off what the place asks for.
    pub fn is_off(&self, own: &Self, name: &str) -> bool {
        let amount = |given: &Self| given.rates.get(name).map_or(0.0, |share| share.amount);
        let step = [self, own]
            .into_iter()
            .filter_map(|given| given.rates.get(name));
        let step = step.map(|share| share.step).fold(0.0, f64::max);
        (amount(self) - amount(own)).abs() > 1.001 * step
    }
}

/// Marks the name of work, which no product's name begins with.
const WORK: &str = "work: ";

/// USD per kg or L.
fn dollars(price: Price) -> f64 {
    match price {
        Price::PerMass(price) => price.stored(),
        Price::PerVolume(price) => price.stored(),
    }
}
