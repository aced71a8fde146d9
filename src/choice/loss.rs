//! What a wrong treatment costs: product and work that a place gets and does not ask for, and, weighing more, what it asks for and
//! does not get; and a starter on ground where salt holds it back.

use std::collections::BTreeMap;

use super::usual_prices::UsualPrices;
use crate::diagnosis::Diagnosis;
use crate::rates::{Prescription, ZoneRates};
use crate::rulebook::{Numbers, ProductName, Rulebook};
use crate::units::UnitSystem;

/// What a place or a zone gets, by name of product or of work.
#[derive(Debug, Clone, Default)]
pub(super) struct Given {
    rates: BTreeMap<String, Share>,
    /// Whether salt holds back what carries salt.
    is_saline: bool,
}

/// What counts beside the price of what is too much.
#[derive(Debug, Clone, Copy)]
pub(super) struct Weights {
    /// A dollar's worth that is missing, against one that is too much.
    under: f64,
    /// A starter on ground where salt holds it back, USD/ha.
    salt: f64,
}

impl Weights {
    /// Those of the rulebook.
    pub fn new(numbers: &Numbers) -> Self {
        Self {
            under: numbers.under_application,
            salt: numbers.harm_of_salt.dollars_per_hectare(),
        }
    }
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
    /// Whether it limes the ground.
    is_lime: bool,
}

impl Given {
    /// By index into `Zones::zones`.
    pub fn by_zone(
        diagnosis: &Diagnosis,
        prescription: &Prescription,
        zones: usize,
        prices: &UsualPrices,
    ) -> Vec<Self> {
        let mut given = vec![Self::default(); zones];
        for rates in &prescription.zones {
            if let Some(given) = given.get_mut(rates.zone) {
                *given = Self::of(rates, prescription, prices);
            }
        }
        for zone in &diagnosis.zones {
            let mut findings = zone.findings.iter();
            if let Some(given) = given.get_mut(zone.zone) {
                given.is_saline = findings.any(|f| f.closes_product(Rulebook::SALT_CARRYING));
            }
        }
        given
    }

    fn of(zone: &ZoneRates, prescription: &Prescription, prices: &UsualPrices) -> Self {
        let products = zone.rates.iter().zip(&prescription.products);
        let mut rates: BTreeMap<String, Share> = products
            .map(|(rate, product)| {
                let amount = rate.amount.number_in(UnitSystem::Metric);
                let share = Share {
                    dollars: amount * prices.worth(product, prescription.recipe.as_ref()),
                    amount,
                    step: product.step.number_in(UnitSystem::Metric),
                    is_lime: prices.is_lime(product.name.as_str()),
                };
                (rate.product.to_string(), share)
            })
            .collect();
        let is_work =
            |fix: &&crate::rates::Fix| fix.product.is_none() && !fix.is_test && !fix.left_out;
        for fix in zone.fixes.iter().filter(is_work) {
            let share = Share {
                dollars: prices.of_work(fix),
                amount: 1.0,
                step: 0.5,
                is_lime: false,
            };
            rates.insert(format!("{WORK}{}", fix.name), share);
        }
        Self {
            rates,
            is_saline: false,
        }
    }

    /// One treatment for two zones: rates between the two, and the work of the one that the larger part belongs to.
    pub fn between(&self, other: &Self, part: f64) -> Self {
        let names = self.rates.keys().chain(other.rates.keys());
        let none = Share {
            dollars: 0.0,
            amount: 0.0,
            step: 0.0,
            is_lime: false,
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
                is_lime: own.is_lime || theirs.is_lime,
            }
        };
        Self {
            rates: names.map(|name| (name.clone(), mixed(name))).collect(),
            is_saline: self.is_saline && other.is_saline,
        }
    }

    /// Loss in USD/ha by name where this is given and `own` is what the place asks for.
    pub fn losses(&self, own: &Self, weights: Weights) -> BTreeMap<String, f64> {
        let mut losses: BTreeMap<String, f64> = self
            .excess_over(own)
            .into_iter()
            .map(|(name, more)| {
                let loss = if more > 0.0 {
                    more
                } else {
                    -more * weights.under
                };
                (name.clone(), loss)
            })
            .collect();
        let starter = ProductName::Starter.as_str();
        if own.is_saline && self.rates.get(starter).is_some_and(|s| s.amount > 0.0) {
            losses.insert(HARM.to_owned(), weights.salt);
        }
        losses
    }

    /// How much more of each product and work this holds than a place asks for, USD/ha; less where negative. Calcitic and dolomitic lime do the
    /// same: what is too much of one makes up for what is missing of the other.
    fn excess_over<'a>(&'a self, own: &'a Self) -> BTreeMap<&'a String, f64> {
        let shares = self.rates.iter().chain(&own.rates);
        let is_lime: BTreeMap<&String, bool> =
            shares.map(|(name, share)| (name, share.is_lime)).collect();
        let dollars =
            |given: &Self, name: &String| given.rates.get(name).map_or(0.0, |s| s.dollars);
        let mut excess: BTreeMap<&String, f64> = is_lime
            .keys()
            .map(|name| (*name, dollars(self, name) - dollars(own, name)))
            .collect();
        let of_limes = |sign: f64, excess: &BTreeMap<&String, f64>| -> f64 {
            let limes = excess.iter().filter(|(name, _)| is_lime[*name]);
            limes.map(|(_, more)| (sign * more).max(0.0)).sum()
        };
        let (more, less) = (of_limes(1.0, &excess), of_limes(-1.0, &excess));
        let made_up = more.min(less);
        for (name, own) in &mut excess {
            let all = if *own > 0.0 { more } else { less };
            if is_lime[*name] && all > 0.0 {
                *own -= *own * made_up / all;
            }
        }
        excess
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

/// Name of the harm of salt: it weighs in the choice of zones and is no product's worth, which the first sheet prints.
const HARM: &str = "harm: salt under the starter";

/// Marks the name of work, which no product's name begins with.
const WORK: &str = "work: ";

#[cfg(test)]
#[path = "loss_tests.rs"]
mod tests;
