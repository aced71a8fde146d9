//! Steps that a controller takes, and how a rate is shown.

use crate::plan::Settings;
use crate::rulebook::Rulebook;
use crate::units::{MassPerArea, Quantity, UnitSystem, VolumePerArea, decimal, significant};
use crate::units::{Metering, ProductRate};

/// A share of a step by which a rate may miss a step and still be taken for it: rounding of decimals, not of soil.
const HAIR: f64 = 1e-6;

/// The most that rounding up to a step may add to a rate, as a share of it: less than a spreader's own error (own).
const MOST_ADDED: f64 = 0.05;

/// The steps of a machine in kg/ha and L/ha.
#[derive(Debug, Clone, Copy)]
pub(super) struct Steps {
    pub dry: f64,
    pub liquid: f64,
}

impl Steps {
    /// The controller's steps in kg/ha and L/ha: the plan's, else the rulebook's for the unit system.
    pub fn new(settings: &Settings, rulebook: &Rulebook) -> Self {
        let numbers = &rulebook.numbers;
        let (dry, liquid) = match settings.units {
            UnitSystem::UnitedStates => (numbers.dry_step_us, numbers.liquid_step_us),
            UnitSystem::Metric => (numbers.dry_step_metric, numbers.liquid_step_metric),
        };
        Self {
            dry: settings.machine.dry_step.unwrap_or(dry).stored(),
            liquid: settings.machine.liquid_step.unwrap_or(liquid).stored(),
        }
    }

    /// The step of dry or of liquid products.
    pub fn of_metering(self, metering: Metering) -> f64 {
        match metering {
            Metering::Dry => self.dry,
            Metering::Liquid => self.liquid,
        }
    }
}

/// The largest multiple of a step that is no more than a rate.
pub(super) fn down_to_step(rate: f64, step: f64) -> f64 {
    if step > 0.0 {
        (rate / step + HAIR).floor().max(0.0) * step
    } else {
        rate.max(0.0)
    }
}

/// The smallest multiple of a step that is no less than a rate.
pub(super) fn up_to_step(rate: f64, step: f64) -> f64 {
    if step > 0.0 {
        (rate / step - HAIR).ceil().max(0.0) * step
    } else {
        rate.max(0.0)
    }
}

/// A rate rounded down to the step; but where that would fall below the smallest rate that spreads evenly and the rate itself does not,
/// up to the next step within the cap, if that adds next to nothing: whether a product goes out must not hang on the step of the controller,
/// and a coarse step must not spread more than is needed.
pub(super) fn to_step_from(smallest: f64, rate: f64, step: f64, cap: Option<f64>) -> f64 {
    let down = down_to_step(rate, step);
    let up = up_to_step(smallest, step);
    let is_spreadable = rate >= smallest * (1.0 - 1e-9);
    let is_within_cap = cap.is_none_or(|cap| up <= cap * (1.0 + 1e-9));
    let adds_little = up <= rate * (1.0 + MOST_ADDED);
    if down < smallest && is_spreadable && is_within_cap && adds_little {
        up
    } else {
        down
    }
}

/// A rate in kg/ha or L/ha with its type.
pub(super) fn amount(rate: f64, metering: Metering) -> ProductRate {
    match metering {
        Metering::Dry => ProductRate::Mass(MassPerArea::from_stored(rate)),
        Metering::Liquid => ProductRate::Volume(VolumePerArea::from_stored(rate)),
    }
}

/// A rate in words: "1,240 lb/ac" without the comma.
pub(super) fn show(rate: f64, metering: Metering, units: UnitSystem) -> String {
    let (factor, unit) = metering.rate_unit(units);
    let number = rate / factor;
    let number = match number {
        // What is not nothing is not shown as nothing.
        ..0.005 if number > 0.0 => significant(number, 2),
        ..20.0 => decimal(number, 2),
        _ => decimal(number, 0),
    };
    format!("{number} {unit}")
}

#[cfg(test)]
#[path = "rounding_tests.rs"]
mod tests;
