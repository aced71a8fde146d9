//! Salt in the spray.

use crate::units::{MassPerArea, VolumePerArea};

/// Product in the spray, grams in 100 mL: 2 lb in 20 gal is 1.20.
///
/// # Range
/// Water above 0; infinite otherwise.
///
/// # Source
/// Definition of percent by mass and volume.
#[must_use]
pub fn concentration_pct(product: MassPerArea, water: VolumePerArea) -> f64 {
    if water.litres_per_hectare() <= 0.0 {
        return f64::INFINITY;
    }
    100.0 * product.kilograms_per_hectare() / water.litres_per_hectare()
}

/// The product that makes a concentration in so much water.
///
/// # Source
/// Definition of percent by mass and volume.
#[must_use]
pub fn mass_for_concentration(percent: f64, water: VolumePerArea) -> MassPerArea {
    MassPerArea::from_kilograms_per_hectare(percent / 100.0 * water.litres_per_hectare())
}
