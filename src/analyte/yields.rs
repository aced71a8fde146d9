//! Yields as people say them.

use super::{Analyte, Catalogue, Conversion};
use crate::units::{UnitSystem, decimal};

/// A yield of kg/ha in the customary unit: `4.2 bu/ac`, `0.26 t/ha`. A crop whose bushel is not known is said in lb/ac.
#[must_use]
pub fn show_yield(kilograms_per_hectare: f64, crop: &str, units: UnitSystem) -> String {
    let (size, unit) = yield_unit(crop, units);
    format!(
        "{} {unit}",
        decimal(kilograms_per_hectare / size, decimals(unit))
    )
}

/// Decimals that a yield is worth printing with.
#[must_use]
pub fn decimals(unit: &str) -> usize {
    match unit {
        "t/ha" => 2,
        "bu/ac" => 1,
        _ => 0,
    }
}

/// Kilograms a hectare in the customary unit of a crop's yield, and the unit.
#[must_use]
pub fn yield_unit(crop: &str, units: UnitSystem) -> (f64, &'static str) {
    let size = |unit: &str| match Catalogue::built_in().conversion(&Analyte::Yield, unit, crop) {
        Ok(Conversion::Factor(factor) | Conversion::PerArea(factor)) => Some(factor),
        Err(_) => None,
    };
    match units {
        UnitSystem::Metric => (1_000.0, "t/ha"),
        UnitSystem::UnitedStates => size("bu/ac").map_or_else(
            || (size("lb/ac").unwrap_or(1.0), "lb/ac"),
            |factor| (factor, "bu/ac"),
        ),
    }
}
