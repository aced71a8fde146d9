//! Rates as ISO 11783 stores them: whole steps of a data dictionary entry, and how they are shown.

use crate::units::ProductRate;
use crate::units::{MassPerArea, Quantity, UnitSystem, VolumePerArea, decimal};

/// Steps of 0.01 mm³/m² in a litre per hectare (DDI 1).
const STEPS_PER_LITRE_PER_HECTARE: f64 = 10_000.0;
/// Steps of 1 mg/m² in a kilogram per hectare (DDI 6).
const STEPS_PER_KILOGRAM_PER_HECTARE: f64 = 100.0;
/// Decimals of a scale; the format allows no exponent.
const SCALE_DECIMALS: usize = 15;

/// How a product's rates are stored and shown.
///
/// # Source
/// ISO 11783-11 data dictionary (public export of 2025-01-21): DDI 1 setpoint volume per area, 0.01 mm³/m²; DDI 6 setpoint mass per
/// area, 1 mg/m²; DDI 72 actual volume content, DDI 75 actual mass content.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setpoint {
    /// Data dictionary entry of the rate, four hex digits.
    pub rate_entry: &'static str,
    /// Data dictionary entry that says which kind of quantity the product is, four hex digits.
    pub quantity_entry: &'static str,
    /// Steps in one unit of the printed rate.
    steps_per_unit: f64,
}

impl Setpoint {
    /// The setpoint of a product that is metered by volume, or by mass.
    #[must_use]
    pub fn new(is_liquid: bool, system: UnitSystem) -> Self {
        match is_liquid {
            true => {
                let litres = VolumePerArea::parse(&format!("1 {}", VolumePerArea::unit_in(system)))
                    .map_or(1.0, VolumePerArea::litres_per_hectare);
                Self {
                    rate_entry: "0001",
                    quantity_entry: "0048",
                    steps_per_unit: litres * STEPS_PER_LITRE_PER_HECTARE,
                }
            }
            false => {
                let kilograms = MassPerArea::parse(&format!("1 {}", MassPerArea::unit_in(system)))
                    .map_or(1.0, MassPerArea::kilograms_per_hectare);
                Self {
                    rate_entry: "0006",
                    quantity_entry: "004B",
                    steps_per_unit: kilograms * STEPS_PER_KILOGRAM_PER_HECTARE,
                }
            }
        }
    }

    /// A rate in whole steps, half away from zero.
    #[must_use]
    pub fn steps(amount: ProductRate) -> i32 {
        let steps = match amount {
            ProductRate::Volume(volume) => {
                volume.litres_per_hectare() * STEPS_PER_LITRE_PER_HECTARE
            }
            ProductRate::Mass(mass) => {
                mass.kilograms_per_hectare() * STEPS_PER_KILOGRAM_PER_HECTARE
            }
        };
        steps.round().clamp(0.0, f64::from(i32::MAX)) as i32
    }

    /// What a step is multiplied with to show the printed unit.
    #[must_use]
    pub fn scale(self) -> String {
        decimal(1.0 / self.steps_per_unit, SCALE_DECIMALS)
    }
}
