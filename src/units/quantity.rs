use std::fmt;

use serde::{Serialize, Serializer};

use super::{
    KILOGRAMS_PER_POUND, KILOPASCALS_PER_PSI, LITRES_PER_GALLON, METRES_PER_FOOT,
    SQUARE_METRES_PER_ACRE, UnitError, UnitSystem, decimal,
    parse::{parse_in, unit_names},
    significant, spoken,
};

const HECTARE: f64 = 10_000.0;
const POUNDS_PER_ACRE: f64 = KILOGRAMS_PER_POUND / SQUARE_METRES_PER_ACRE * HECTARE;
const GALLONS_PER_ACRE: f64 = LITRES_PER_GALLON / SQUARE_METRES_PER_ACRE * HECTARE;
const SHORT_TON: f64 = 2_000.0 * KILOGRAMS_PER_POUND;
const FLUID_OUNCE: f64 = LITRES_PER_GALLON / 128.0;

/// What all quantities share: a name for messages, a table of units, a number in the stored unit.
pub trait Quantity: Copy + Sized {
    /// What it is, for messages: "length", "volume per area".
    const NAME: &'static str;
    /// Unit text as people write it, and how many stored units one of it is. The first is the stored unit.
    const UNITS: &'static [(&'static str, f64)];
    /// The value made from a number in the stored unit.
    fn from_stored(value: f64) -> Self;
    /// The number in the stored unit.
    fn stored(self) -> f64;

    /// Reads text such as `"5 m"` or `"0.5 ac"`.
    ///
    /// # Errors
    /// Where there is no number, no unit, an unknown unit, or the number is not finite.
    fn parse(text: &str) -> Result<Self, UnitError> {
        parse_in(text, Self::NAME, Self::UNITS).map(Self::from_stored)
    }

    /// The units that a message offers: the first spelling of each.
    #[must_use]
    fn unit_names() -> String {
        unit_names(Self::UNITS)
    }

    /// The value in one of the units of the table; `None` where the unit is not of this quantity.
    fn in_unit(self, unit: &str) -> Option<f64> {
        Self::UNITS
            .iter()
            .find(|(name, _)| *name == unit)
            .map(|(_, factor)| self.stored() / factor)
    }
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $label:literal, $make:ident / $get:ident, us = $us:literal, metric = $metric:literal, [$(($unit:expr, $factor:expr)),+ $(,)?]) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(0.0);

            #[doc = concat!("The value made from a number in ", stringify!($get), ".")]
            #[must_use]
            pub const fn $make(value: f64) -> Self {
                Self(value)
            }

            #[doc = concat!("The number in ", stringify!($get), ".")]
            #[must_use]
            pub const fn $get(self) -> f64 {
                self.0
            }

            /// The customary unit of this quantity in a system of units.
            #[must_use]
            pub const fn unit_in(system: UnitSystem) -> &'static str {
                match system {
                    UnitSystem::UnitedStates => $us,
                    UnitSystem::Metric => $metric,
                }
            }

            /// The number in the customary unit of a system.
            #[must_use]
            pub fn number_in(self, system: UnitSystem) -> f64 {
                let unit = Self::unit_in(system);
                self.in_unit(unit).unwrap_or(self.0)
            }

            /// Number and unit in a system, at most `decimals` decimals: `"5 gal/ac"`.
            #[must_use]
            pub fn show(self, system: UnitSystem, decimals: usize) -> String {
                format!("{} {}", decimal(self.number_in(system), decimals), Self::unit_in(system))
            }

            /// Number and unit of a small amount: two decimals below 10, three figures from there on: `"0.25 lb/ac"`.
            #[must_use]
            pub fn show_small(self, system: UnitSystem) -> String {
                let number = self.number_in(system);
                let text = if number < 10.0 {
                    decimal(number, 2)
                } else {
                    significant(number, 3)
                };
                format!("{text} {}", Self::unit_in(system))
            }
        }

        impl Quantity for $name {
            const NAME: &'static str = $label;
            const UNITS: &'static [(&'static str, f64)] = &[$(($unit, $factor)),+];
            fn from_stored(value: f64) -> Self {
                Self(value)
            }
            fn stored(self) -> f64 {
                self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{} {}", decimal(self.0, 6), Self::UNITS[0].0)
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(values: I) -> Self {
                Self(values.map(|value| value.0).sum())
            }
        }
    };
}

quantity!(
    /// A length, stored in metres.
    Length, "length", from_metres / metres, us = "ft", metric = "m",
    [("m", 1.0), ("cm", 0.01), ("mm", 0.001), ("km", 1_000.0), ("ft", METRES_PER_FOOT), ("in", METRES_PER_FOOT / 12.0),
     ("inch", METRES_PER_FOOT / 12.0), ("\"", METRES_PER_FOOT / 12.0), ("yd", 3.0 * METRES_PER_FOOT), ("mi", 5_280.0 * METRES_PER_FOOT)]
);
quantity!(
    /// An area, stored in square metres.
    Area, "area", from_square_metres / square_metres, us = "ac", metric = "ha",
    [("m2", 1.0), ("m²", 1.0), ("ha", HECTARE), ("ac", SQUARE_METRES_PER_ACRE), ("acre", SQUARE_METRES_PER_ACRE),
     ("acres", SQUARE_METRES_PER_ACRE), ("ft2", METRES_PER_FOOT * METRES_PER_FOOT),
     ("in2", METRES_PER_FOOT * METRES_PER_FOOT / 144.0), ("cm2", 1e-4), ("mm2", 1e-6)]
);
quantity!(
    /// A mass, stored in kilograms. A `ton` is the short ton of 2,000 lb, a `tonne` is 1,000 kg; a bare `t` is refused.
    Mass, "mass", from_kilograms / kilograms, us = "lb", metric = "kg",
    [("kg", 1.0), ("g", 0.001), ("tonne", 1_000.0), ("Mg", 1_000.0), ("lb", KILOGRAMS_PER_POUND), ("oz", KILOGRAMS_PER_POUND / 16.0),
     ("ton", SHORT_TON), ("tons", SHORT_TON)]
);
quantity!(
    /// A volume, stored in litres. A gallon is the United States liquid gallon.
    Volume, "volume", from_litres / litres, us = "gal", metric = "L",
    [("L", 1.0), ("l", 1.0), ("ml", 0.001), ("mL", 0.001), ("m3", 1_000.0), ("gal", LITRES_PER_GALLON), ("qt", LITRES_PER_GALLON / 4.0),
     ("pt", LITRES_PER_GALLON / 8.0), ("fl oz", FLUID_OUNCE)]
);
quantity!(
    /// A speed, stored in metres per second.
    Speed, "speed", from_metres_per_second / metres_per_second, us = "mph", metric = "km/h",
    [("m/s", 1.0), ("km/h", 1.0 / 3.6), ("mph", 5_280.0 * METRES_PER_FOOT / 3_600.0), ("ft/min", METRES_PER_FOOT / 60.0)]
);
quantity!(
    /// A pressure, stored in kilopascals.
    Pressure, "pressure", from_kilopascals / kilopascals, us = "psi", metric = "kPa",
    [("kPa", 1.0), ("MPa", 1_000.0), ("bar", 100.0), ("psi", KILOPASCALS_PER_PSI), ("kgf/cm2", 98.0665)]
);
quantity!(
    /// A volume flow, stored in litres per minute.
    VolumeFlow, "volume flow", from_litres_per_minute / litres_per_minute, us = "gal/min", metric = "L/min",
    [("L/min", 1.0), ("l/min", 1.0), ("ml/min", 0.001), ("gal/min", LITRES_PER_GALLON), ("gpm", LITRES_PER_GALLON), ("fl oz/min", FLUID_OUNCE),
     ("oz/min", FLUID_OUNCE)]
);
quantity!(
    /// A mass per area, stored in kilograms per hectare.
    MassPerArea, "mass per area", from_kilograms_per_hectare / kilograms_per_hectare, us = "lb/ac", metric = "kg/ha",
    [("kg/ha", 1.0), ("g/ha", 0.001), ("tonne/ha", 1_000.0), ("Mg/ha", 1_000.0), ("lb/ac", POUNDS_PER_ACRE), ("lb/acre", POUNDS_PER_ACRE),
     ("ton/ac", 2_000.0 * POUNDS_PER_ACRE), ("tons/ac", 2_000.0 * POUNDS_PER_ACRE)]
);
quantity!(
    /// A volume per area, stored in litres per hectare.
    VolumePerArea, "volume per area", from_litres_per_hectare / litres_per_hectare, us = "gal/ac", metric = "L/ha",
    [("L/ha", 1.0), ("l/ha", 1.0), ("gal/ac", GALLONS_PER_ACRE), ("gal/acre", GALLONS_PER_ACRE), ("gpa", GALLONS_PER_ACRE)]
);
quantity!(
    /// A density, stored in kilograms per litre.
    Density, "density", from_kilograms_per_litre / kilograms_per_litre, us = "lb/gal", metric = "kg/L",
    [("kg/L", 1.0), ("kg/l", 1.0), ("g/cm3", 1.0), ("lb/gal", KILOGRAMS_PER_POUND / LITRES_PER_GALLON)]
);
quantity!(
    /// A price per area, stored in United States dollars per hectare.
    MoneyPerArea, "money per area", from_dollars_per_hectare / dollars_per_hectare, us = "USD/ac", metric = "USD/ha",
    [("USD/ha", 1.0), ("USD/ac", HECTARE / SQUARE_METRES_PER_ACRE), ("USD/acre", HECTARE / SQUARE_METRES_PER_ACRE)]
);
quantity!(
    /// A price per mass, stored in United States dollars per kilogram.
    MoneyPerMass, "money per mass", from_dollars_per_kilogram / dollars_per_kilogram, us = "USD/lb", metric = "USD/kg",
    [("USD/kg", 1.0), ("USD/tonne", 0.001), ("USD/lb", 1.0 / KILOGRAMS_PER_POUND), ("USD/ton", 1.0 / SHORT_TON)]
);
quantity!(
    /// A price per volume, stored in United States dollars per litre.
    MoneyPerVolume, "money per volume", from_dollars_per_litre / dollars_per_litre, us = "USD/gal", metric = "USD/L",
    [("USD/L", 1.0), ("USD/l", 1.0), ("USD/gal", 1.0 / LITRES_PER_GALLON)]
);
quantity!(
    /// An amount of data, stored in bytes. 1 kB is 1,000 bytes, 1 KiB is 1,024.
    DataSize, "data size", from_bytes / bytes, us = "MB", metric = "MB",
    [("B", 1.0), ("kB", 1e3), ("MB", 1e6), ("GB", 1e9), ("TB", 1e12), ("KiB", 1_024.0), ("MiB", 1_048_576.0), ("GiB", 1_073_741_824.0)]
);
quantity!(
    /// A span of time, stored in seconds.
    TimeSpan, "time", from_seconds / seconds, us = "min", metric = "min",
    [("s", 1.0), ("min", 60.0), ("h", 3_600.0), ("day", 86_400.0)]
);

impl Length {
    /// A depth in the soil in the unit that people use for it: inches or centimetres, to a tenth.
    ///
    /// # Example
    /// ```
    /// use lowstave::units::{Length, UnitSystem};
    /// let depth = Length::from_metres(0.4572);
    /// assert_eq!(depth.as_depth(UnitSystem::UnitedStates), "18 in");
    /// assert_eq!(depth.as_depth(UnitSystem::Metric), "45.7 cm");
    /// ```
    #[must_use]
    pub fn as_depth(self, system: UnitSystem) -> String {
        match system {
            UnitSystem::UnitedStates => {
                format!("{} in", decimal(self.metres() * 12.0 / METRES_PER_FOOT, 1))
            }
            UnitSystem::Metric => format!("{} cm", decimal(self.metres() * 100.0, 1)),
        }
    }
}

impl Pressure {
    /// With its unit as it is spoken: "300 psi", "2070 kPa".
    #[must_use]
    pub fn spoken(self, system: UnitSystem) -> String {
        let unit = Self::unit_in(system);
        format!(
            "{} {unit}",
            decimal(spoken(self.number_in(system), unit), 0)
        )
    }
}
