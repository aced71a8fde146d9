//! What a machine, a grid or a setback can be at all. Outside of it a number is a slip of the pen or of its unit, and
//! some of them would fill the disk: a tank of a few drops makes a fill sheet of a million loads.
//!
//! All of it is common practice, wide enough for hand tools on plots and for the largest machines.

use crate::units::{
    Area, Length, MassPerArea, MoneyPerArea, MoneyPerMass, MoneyPerVolume, Quantity, Speed, Volume,
    VolumeFlow, VolumePerArea,
};

/// The least and the most that a quantity can be, both allowed, and the range in words.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limits<Q> {
    least: Q,
    most: Q,
    pub(super) words: &'static str,
}

impl<Q: Quantity> Limits<Q> {
    /// Whether a quantity is possible.
    pub(super) fn allow(&self, quantity: Q) -> bool {
        (self.least.stored()..=self.most.stored()).contains(&quantity.stored())
    }

    /// Whether a quantity is possible, and the range in words.
    pub(super) fn check(&self, quantity: Q) -> (bool, &'static str) {
        (self.allow(quantity), self.words)
    }
}

pub(super) const CELL: Limits<Length> = Limits {
    least: Length::from_metres(0.01),
    most: Length::from_metres(1_000.0),
    words: "1 cm to 1000 m (0.4 in to 3281 ft)",
};
pub(super) const SWATH: Limits<Length> = Limits {
    least: Length::from_metres(0.1),
    most: Length::from_metres(100.0),
    words: "0.1 m to 100 m (4 in to 328 ft)",
};
pub(super) const ROW_SPACING: Limits<Length> = Limits {
    least: Length::from_metres(0.02),
    most: Length::from_metres(20.0),
    words: "2 cm to 20 m (0.8 in to 65.6 ft)",
};
pub(super) const SPEED: Limits<Speed> = Limits {
    least: Speed::from_metres_per_second(0.1),
    most: Speed::from_metres_per_second(20.0),
    words: "0.36 km/h to 72 km/h (0.23 mph to 44 mph)",
};
/// From a plot to a field a mile and a half long.
pub(super) const STRIP_LENGTH: Limits<Length> = Limits {
    least: Length::from_metres(30.0),
    most: Length::from_metres(2_500.0),
    words: "30 m to 2500 m (98 ft to 8200 ft)",
};
/// Steered by hand at worst.
pub(super) const POSITION_ERROR: Limits<Length> = Limits {
    least: Length::ZERO,
    most: Length::from_metres(5.0),
    words: "0 to 5 m (16 ft)",
};
/// From a knapsack for plots to a nurse tank.
pub(super) const TANK: Limits<Volume> = Limits {
    least: Volume::from_litres(1.0),
    most: Volume::from_litres(200_000.0),
    words: "1 L to 200000 L (0.3 gal to 52800 gal)",
};
pub(super) const MOST_FLOW: Limits<VolumeFlow> = Limits {
    least: VolumeFlow::from_litres_per_minute(0.001),
    most: VolumeFlow::from_litres_per_minute(1_000.0),
    words: "0.001 L/min to 1000 L/min (0.04 oz/min to 264 gal/min)",
};
pub(super) const LIQUID_STEP: Limits<VolumePerArea> = Limits {
    least: VolumePerArea::from_litres_per_hectare(0.001),
    most: VolumePerArea::from_litres_per_hectare(10_000.0),
    words: "0.001 L/ha to 10000 L/ha (0.0002 gal/ac to 1069 gal/ac)",
};
pub(super) const DRY_STEP: Limits<MassPerArea> = Limits {
    least: MassPerArea::from_kilograms_per_hectare(0.001),
    most: MassPerArea::from_kilograms_per_hectare(100_000.0),
    words: "0.001 kg/ha to 100000 kg/ha (0.001 lb/ac to 89000 lb/ac)",
};
/// A keep-out is a ditch or a well, not a county.
pub(super) const SETBACK: Limits<Length> = Limits {
    least: Length::ZERO,
    most: Length::from_metres(10_000.0),
    words: "0 to 10 km (6.2 mi)",
};
pub(super) const SMALLEST_PATCH: Limits<Area> = Limits {
    least: Area::ZERO,
    most: Area::from_square_metres(100_000_000.0),
    words: "0 to 10000 ha (24711 ac)",
};
pub(super) const TOLERANCE: Limits<Length> = Limits {
    least: Length::ZERO,
    most: Length::from_metres(1_000.0),
    words: "0 to 1000 m (3281 ft)",
};
/// The dearest inputs of a field are sold by the gram.
pub(super) const PRICE_OF_MASS: Limits<MoneyPerMass> = Limits {
    least: MoneyPerMass::from_dollars_per_kilogram(0.0),
    most: MoneyPerMass::from_dollars_per_kilogram(10_000.0),
    words: "0 to 10000 USD/kg (4536 USD/lb)",
};
pub(super) const PRICE_OF_VOLUME: Limits<MoneyPerVolume> = Limits {
    least: MoneyPerVolume::from_dollars_per_litre(0.0),
    most: MoneyPerVolume::from_dollars_per_litre(10_000.0),
    words: "0 to 10000 USD/L (37854 USD/gal)",
};
/// More than the land costs.
pub(super) const BUDGET: Limits<MoneyPerArea> = Limits {
    least: MoneyPerArea::from_dollars_per_hectare(0.0),
    most: MoneyPerArea::from_dollars_per_hectare(1_000_000.0),
    words: "0 to 1000000 USD/ha (404686 USD/ac)",
};
/// Twenty times a heavy dressing of lime or compost.
pub(super) const OWN_DRY_RATE: Limits<MassPerArea> = Limits {
    least: MassPerArea::from_kilograms_per_hectare(0.0),
    most: MassPerArea::from_kilograms_per_hectare(200_000.0),
    words: "0 to 200 t/ha (178000 lb/ac)",
};
/// A heavy dressing of slurry.
pub(super) const OWN_LIQUID_RATE: Limits<VolumePerArea> = Limits {
    least: VolumePerArea::from_litres_per_hectare(0.0),
    most: VolumePerArea::from_litres_per_hectare(200_000.0),
    words: "0 to 200 m3/ha (21400 gal/ac)",
};
