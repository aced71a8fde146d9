//! How a product is metered, and its rate.

use serde::{Deserialize, Serialize};

use super::{
    Mass, MassPerArea, MoneyPerMass, MoneyPerVolume, Quantity, UnitSystem, Volume, VolumePerArea,
};

/// How a product is metered, and the unit of its numbers: kilograms and kg/ha, or litres and L/ha.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Metering {
    /// By mass.
    #[default]
    Dry,
    /// By volume.
    Liquid,
}

impl Metering {
    /// How many stored units one customary unit of rate is, and its name.
    #[must_use]
    pub fn rate_unit(self, units: UnitSystem) -> (f64, &'static str) {
        match self {
            Self::Dry => customary::<MassPerArea>(MassPerArea::unit_in(units)),
            Self::Liquid => customary::<VolumePerArea>(VolumePerArea::unit_in(units)),
        }
    }

    /// How many stored units one customary unit of amount is, and its name.
    #[must_use]
    pub fn amount_unit(self, units: UnitSystem) -> (f64, &'static str) {
        match self {
            Self::Dry => customary::<Mass>(Mass::unit_in(units)),
            Self::Liquid => customary::<Volume>(Volume::unit_in(units)),
        }
    }

    /// How many stored units one customary unit of price is, and its name.
    #[must_use]
    pub fn price_unit(self, units: UnitSystem) -> (f64, &'static str) {
        match self {
            Self::Dry => customary::<MoneyPerMass>(MoneyPerMass::unit_in(units)),
            Self::Liquid => customary::<MoneyPerVolume>(MoneyPerVolume::unit_in(units)),
        }
    }

    /// A rate of nothing.
    #[must_use]
    pub fn nothing(self) -> ProductRate {
        match self {
            Self::Liquid => ProductRate::Volume(VolumePerArea::ZERO),
            Self::Dry => ProductRate::Mass(MassPerArea::ZERO),
        }
    }
}

fn customary<Q: Quantity>(unit: &'static str) -> (f64, &'static str) {
    (
        Q::UNITS
            .iter()
            .find(|(name, _)| *name == unit)
            .map_or(1.0, |(_, factor)| *factor),
        unit,
    )
}

/// A rate of a product: by volume or by mass, as it is metered.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ProductRate {
    /// Liquid.
    Volume(VolumePerArea),
    /// Dry.
    Mass(MassPerArea),
}

impl ProductRate {
    /// The number in the customary unit of a system.
    #[must_use]
    pub fn number_in(self, system: UnitSystem) -> f64 {
        match self {
            Self::Volume(v) => v.number_in(system),
            Self::Mass(m) => m.number_in(system),
        }
    }

    /// The customary unit in a system: `gal/ac`, `kg/ha`.
    #[must_use]
    pub fn unit_in(self, system: UnitSystem) -> &'static str {
        match self {
            Self::Volume(_) => VolumePerArea::unit_in(system),
            Self::Mass(_) => MassPerArea::unit_in(system),
        }
    }

    /// The rate as a bare number, kg/ha or L/ha.
    #[must_use]
    pub fn per_hectare(self) -> f64 {
        self.number_in(UnitSystem::Metric)
    }

    /// Whether nothing is applied.
    #[must_use]
    pub fn is_zero(self) -> bool {
        self.per_hectare() == 0.0
    }
}
