//! What is taken where the plan says nothing. All of it is common practice or our own choice, none of it is published.

use crate::units::{
    Area, LITRES_PER_GALLON, Length, METRES_PER_FOOT, SQUARE_METRES_PER_ACRE, Speed, Volume,
    VolumeFlow,
};

/// Side of a grid cell: about half a planter pass. Own choice.
pub const CELL: Length = Length::from_metres(5.0);
/// Smallest patch worth driving differently: half an acre. Common practice.
pub const SMALLEST_PATCH: Area = Area::from_square_metres(0.5 * SQUARE_METRES_PER_ACRE);
/// Fuzziness exponent of fuzzy c-means. Common practice in soil work is 1.3 to 2; own choice within it.
pub const FUZZINESS: f64 = 1.5;
/// Seed of the random starts. Any number does; the same number gives the same zones.
pub const SEED: u64 = 1;

/// Working width: sixteen rows of 30 in. Common practice.
pub const SWATH: Length = Length::from_metres(40.0 * METRES_PER_FOOT);
/// Distance between rows: 30 in. Common practice.
pub const ROW_SPACING: Length = Length::from_metres(2.5 * METRES_PER_FOOT);
/// Direction of travel in degrees from north. Own choice.
pub const HEADING: f64 = 0.0;
/// Planting speed: 5 mph. Common practice.
pub const SPEED: Speed = Speed::from_metres_per_second(5.0 * 5_280.0 * METRES_PER_FOOT / 3_600.0);
/// Liquid on the planter: 400 gal. Common practice.
pub const TANK: Volume = Volume::from_litres(400.0 * LITRES_PER_GALLON);
/// Least flow per row of a usual pump and orifice: 0.03 gal/min. Common practice.
pub const LEAST_FLOW: VolumeFlow = VolumeFlow::from_litres_per_minute(0.03 * LITRES_PER_GALLON);
/// Most flow per row of a usual pump and orifice: 0.30 gal/min. Common practice.
pub const MOST_FLOW: VolumeFlow = VolumeFlow::from_litres_per_minute(0.3 * LITRES_PER_GALLON);
