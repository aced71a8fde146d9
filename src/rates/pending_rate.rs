//! A rate in the making: what is needed, what caps and steps leave of it, and every step in words.

use super::rounding::{amount, to_step_from};
use super::zone_context::ZoneContext;
use super::{Rate, rounding};
use crate::rulebook::{Metering, Product};
use crate::units::decimal;

/// A rate in the making, kg/ha or L/ha.
#[derive(Debug, Clone)]
pub(super) struct PendingRate {
    pub product: String,
    pub metering: Metering,
    pub needed: f64,
    pub amount: f64,
    pub steps: Vec<String>,
    pub note: Option<String>,
    pub seasons_after: u8,
    pub overridden: Option<String>,
}

impl PendingRate {
    /// Nothing, and nothing needed.
    pub fn nothing(product: &str, metering: Metering) -> Self {
        Self {
            product: product.to_owned(),
            metering,
            needed: 0.0,
            amount: 0.0,
            steps: Vec::new(),
            note: None,
            seasons_after: 0,
            overridden: None,
        }
    }

    /// What is needed of an amendment, cut to the season's cap and rounded down to the step.
    pub fn of_need(case: ZoneContext<'_>, product: &Product, need: Need) -> Self {
        let mut pending = Self {
            needed: need.rate,
            steps: need.steps,
            note: need.note,
            ..Self::nothing(&product.name, product.metering)
        };
        if need.rate <= 0.0 || pending.note.is_some() {
            return pending;
        }
        let show = |rate| case.show(rate, product.metering);
        pending.amount = need.rate;
        if let Some(cap) = case.cap(product).filter(|cap| need.rate > *cap) {
            pending.amount = cap;
            pending.seasons_after = seasons_for(need.rate - cap, cap);
            pending.steps.push(format!(
                "at most {} in a season ({}), the rest over {} more",
                show(cap),
                product.cap_source,
                pending.seasons_after
            ));
        }
        let step = case.bench.steps.of_metering(product.metering);
        let rounded = to_step_from(product.smallest, pending.amount, step, case.cap(product));
        if (rounded - pending.amount).abs() > 1e-9 * pending.amount.max(1.0) {
            let way = if rounded > pending.amount {
                "up"
            } else {
                "down"
            };
            pending.steps.push(format!(
                "rounded {way} to the step of {}: {}",
                show(step),
                show(rounded)
            ));
        }
        pending.amount = rounded;
        if rounded < product.smallest * (1.0 - 1e-9) || rounded <= 0.0 {
            pending.note = Some(format!(
                "{} is less than can be spread evenly ({}), so nothing is",
                show(rounded),
                show(product.smallest.max(step))
            ));
            pending.amount = 0.0;
            pending.seasons_after = 0;
        }
        pending
    }

    /// Tells what the product brings at this rate.
    pub fn tell_what_it_supplies(&mut self, case: ZoneContext<'_>, product: &Product) {
        if self.amount <= 0.0 {
            return;
        }
        let density = match self.metering {
            Metering::Dry => 1.0,
            Metering::Liquid => product
                .density
                .map_or(1.0, crate::units::Density::kilograms_per_litre),
        };
        let brought: Vec<String> = product
            .analysis
            .parts()
            .map(|(name, percent)| {
                format!(
                    "{} {}",
                    name.replace('_', " "),
                    case.show(self.amount * density * percent / 100.0, Metering::Dry)
                )
            })
            .collect();
        if !brought.is_empty() {
            self.steps.push(format!("brings {}", brought.join(", ")));
        }
    }

    /// Holds the product back.
    pub fn hold_back(&mut self, why: String) {
        self.amount = 0.0;
        self.seasons_after = 0;
        self.note = Some(why);
    }

    /// The finished rate.
    pub fn finish(self) -> Rate {
        Rate {
            product: self.product,
            amount: amount(self.amount, self.metering),
            needed: amount(self.needed, self.metering),
            steps: self.steps,
            note: self.note,
            seasons_after: self.seasons_after,
            overridden: self.overridden,
        }
    }
}

/// What the chemistry asks for.
#[derive(Debug, Clone, Default)]
pub(super) struct Need {
    /// kg/ha or L/ha of the product as delivered.
    pub rate: f64,
    /// The formula with its numbers.
    pub steps: Vec<String>,
    /// Why nothing is given although something is needed.
    pub note: Option<String>,
}

impl Need {
    /// A need that cannot be told.
    pub fn unknown(why: impl Into<String>) -> Self {
        Self {
            note: Some(why.into()),
            ..Self::default()
        }
    }

    /// Keeps the larger of two needs for the same thing.
    pub fn or_more(self, other: Self) -> Self {
        let (mut more, less) = if other.rate > self.rate {
            (other, self)
        } else {
            (self, other)
        };
        let new: Vec<String> = less
            .steps
            .into_iter()
            .filter(|step| !more.steps.contains(step))
            .collect();
        more.steps.extend(new);
        more.note = more.note.or(less.note);
        more
    }
}

fn seasons_for(rest: f64, cap: f64) -> u8 {
    if cap > 0.0 {
        (rest / cap).ceil().clamp(1.0, 255.0) as u8
    } else {
        u8::MAX
    }
}

/// A number in a step.
pub(super) fn number(value: f64) -> String {
    let decimals = if value.abs() < 10.0 { 2 } else { 1 };
    decimal(value, decimals)
}

/// The smaller of a rate and a limit, with the limit told where it cuts.
pub(super) fn cut(
    rate: f64,
    limit: f64,
    why: impl FnOnce(String) -> String,
    steps: &mut Vec<String>,
    case: ZoneContext<'_>,
) -> f64 {
    if rate <= limit {
        return rate;
    }
    steps.push(why(rounding::show(
        limit,
        Metering::Liquid,
        case.bench.settings.units,
    )));
    limit
}
