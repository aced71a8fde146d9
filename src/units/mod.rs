//! Quantities with their unit in the type, how people write them and how they are printed.
//!
//! Every quantity is stored in one unit (named in its doc comment and in its accessor) and may be
//! read from any unit of its table. Factors are exact where the unit is defined exactly
//! (NIST SP 811, Appendix B); the acre is the international one, 4046.8564224 m².

mod magnitude;
mod parse;
mod print;
mod product_rate;
mod quantity;
mod system;

pub use parse::{UnitError, split_number_and_unit};
pub use print::{decimal, fixed, significant, spoken, value_beside};
pub use product_rate::{Metering, ProductRate};
pub use quantity::{
    Area, DataSize, Density, Length, Mass, MassPerArea, MoneyPerArea, MoneyPerMass, MoneyPerVolume,
    Pressure, Quantity, Speed, TimeSpan, Volume, VolumeFlow, VolumePerArea,
};
pub use system::UnitSystem;

/// Square metres in an international acre (exact: 43,560 ft² of 0.3048 m).
pub const SQUARE_METRES_PER_ACRE: f64 = 4_046.856_422_4;
/// Kilograms in a pound (exact).
pub const KILOGRAMS_PER_POUND: f64 = 0.453_592_37;
/// Litres in a United States liquid gallon (exact: 231 in³).
pub const LITRES_PER_GALLON: f64 = 3.785_411_784;
/// Metres in a foot (exact).
pub const METRES_PER_FOOT: f64 = 0.3048;
/// Kilopascals in a pound-force per square inch (0.45359237 kg x 9.80665 m/s² / 0.0254² m²).
pub const KILOPASCALS_PER_PSI: f64 = 6.894_757_293_168_361;
