//! What is needed of an amendment, cut to its caps and rounded to the step.

use super::caps::{self, CapKind};
use super::material::Material;
use super::pending_rate::{Need, PendingRate};
use super::rounding::to_step_from;
use super::zone_context::ZoneContext;
use crate::rulebook::Product;

impl PendingRate {
    /// What is needed of an amendment, inside its caps and rounded to the step; `others` are the rates given with it.
    pub fn of_need(case: ZoneContext<'_>, product: &Product, need: Need, others: &[Self]) -> Self {
        let material = Material::Product(product);
        let mut pending = Self {
            needed: need.rate,
            steps: need.steps,
            note: need.note,
            is_unknown: need.is_unknown,
            at_least: need.at_least,
            build: need.build,
            aim: need.aim,
            ..Self::nothing(&material.name(), product.metering)
        };
        if need.rate <= 0.0 || pending.note.is_some() {
            return pending;
        }
        pending.amount = need.rate;
        let caps = caps::caps(case, material, others);
        for cap in &caps {
            pending.hold_under(case, cap);
        }
        if pending.amount > 0.0 {
            pending.round(case, product, caps::lowest(&caps).map(|cap| cap.most));
        }
        pending
    }

    /// Cuts a need to a cap; a season's cap leaves the rest to further seasons.
    fn hold_under(&mut self, case: ZoneContext<'_>, cap: &caps::Cap) {
        if self.amount <= cap.most {
            return;
        }
        match cap.kind {
            CapKind::Season if cap.most <= 0.0 => {
                self.hold_back(format!("nothing is left under the cap: {}", cap.why));
            }
            CapKind::Season => {
                self.seasons_after = seasons_for(self.needed - cap.most, cap.most);
                let least = if self.at_least.is_some() {
                    "at least "
                } else {
                    ""
                };
                self.steps.push(format!(
                    "at most {} in a season, {}; the rest over {least}{} more",
                    case.show(cap.most, self.metering),
                    cap.why,
                    self.seasons_after
                ));
                self.amount = cap.most;
            }
            CapKind::SaltyGround => self.hold_back(format!("held back by salt: {}", cap.why)),
            _ => self.hold_back(format!("not here: {}", cap.why)),
        }
    }

    fn round(&mut self, case: ZoneContext<'_>, product: &Product, cap: Option<f64>) {
        let show = |rate| case.show(rate, product.metering);
        let step = case.field.steps.of_metering(product.metering);
        let rounded = to_step_from(product.smallest, self.amount, step, cap);
        if (rounded - self.amount).abs() > 1e-9 * self.amount.max(1.0) {
            let way = if rounded > self.amount { "up" } else { "down" };
            self.steps.push(format!(
                "rounded {way} to the step of {}: {}",
                show(step),
                show(rounded)
            ));
        }
        let asked = std::mem::replace(&mut self.amount, rounded);
        if rounded < product.smallest * (1.0 - 1e-9) || rounded <= 0.0 {
            self.hold_back(format!(
                "{} is less than can be spread evenly ({}), so nothing is",
                show(asked),
                show(product.smallest.max(step))
            ));
            self.is_too_little = true;
        }
    }
}

/// Seasons that a rest takes, at so much in each.
pub(super) fn seasons_for(rest: f64, cap: f64) -> u8 {
    if cap > 0.0 {
        (rest / cap).ceil().clamp(1.0, 255.0) as u8
    } else {
        u8::MAX
    }
}
