//! Lengths and populations of the files in the units of the calculation.

use crate::units::{Length, METRES_PER_FOOT, Quantity};

/// A number with its unit in feet; the unit stands in the column's name, the plan, or a row of units.
pub(super) fn feet_of(number: f64, unit: &str) -> Option<f64> {
    let names = match unit {
        "feet" => "ft",
        "inch" | "inches" => "in",
        other => other,
    };
    let factor = Length::UNITS.iter().find(|(name, _)| *name == names)?.1;
    Some(number * factor / METRES_PER_FOOT)
}

/// Plants per area in plants per acre; `None` without a unit: nothing is guessed.
pub(super) fn per_acre(number: f64, unit: Option<&str>) -> Option<f64> {
    const ACRES: f64 = 2.471_053_814_671_653;
    match unit {
        Some("/ac" | "/acre" | "plants/ac") => Some(number),
        Some("/ha" | "plants/ha") => Some(number / ACRES),
        _ => None,
    }
}
