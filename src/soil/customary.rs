//! United States customary units, in which most of the tables are printed.

use crate::units::{KILOGRAMS_PER_POUND, Length, MassPerArea, SQUARE_METRES_PER_ACRE};

const KG_PER_HA_IN_A_POUND_PER_ACRE: f64 = KILOGRAMS_PER_POUND / SQUARE_METRES_PER_ACRE * 10_000.0;

pub(super) fn pounds_per_acre(pounds: f64) -> MassPerArea {
    MassPerArea::from_kilograms_per_hectare(pounds * KG_PER_HA_IN_A_POUND_PER_ACRE)
}

pub(super) fn tons_per_acre(short_tons: f64) -> MassPerArea {
    pounds_per_acre(2_000.0 * short_tons)
}

pub(super) fn in_inches(length: Length) -> f64 {
    length.metres() / 0.0254
}

pub(super) const fn inches(inches: f64) -> Length {
    Length::from_metres(inches * 0.0254)
}
