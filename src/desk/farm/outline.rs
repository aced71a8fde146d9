//! Outlines of fields as the page draws them.

use serde::Serialize;

use crate::farm::FieldRecord;

/// Metres in a degree of latitude, near enough for a picture.
const METRES_PER_DEGREE: f64 = 111_132.0;

/// A field on the farm's map: rings in metres east and north of its own south-west corner.
#[derive(Debug, Serialize)]
pub struct Outline {
    /// Metres east of the farm's western edge.
    pub east: f64,
    /// Metres north of the farm's southern edge.
    pub north: f64,
    /// Width, metres.
    pub width: f64,
    /// Height, metres.
    pub height: f64,
    /// Rings of `[east, north]`, whole metres, outer rings and holes.
    pub rings: Vec<Vec<[f64; 2]>>,
}

/// The outlines of some fields; none of a field without one.
pub fn outlines(records: &[FieldRecord]) -> Vec<Option<Outline>> {
    let rings = |record: &FieldRecord| -> Vec<Vec<[f64; 2]>> {
        record.facts.boundary.iter().flatten().cloned().collect()
    };
    let all: Vec<Vec<Vec<[f64; 2]>>> = records.iter().map(rings).collect();
    let spots = || all.iter().flatten().flatten();
    let least = |of: fn(&[f64; 2]) -> f64| spots().map(of).fold(f64::INFINITY, f64::min);
    let (west, south) = (least(|spot| spot[0]), least(|spot| spot[1]));
    all.iter()
        .map(|rings| outline(rings, (west, south)))
        .collect()
}

fn outline(rings: &[Vec<[f64; 2]>], (west, south): (f64, f64)) -> Option<Outline> {
    let spots = || rings.iter().flatten();
    let end =
        |of: fn(&[f64; 2]) -> f64, of_two: fn(f64, f64) -> f64| spots().map(of).reduce(of_two);
    let (own_west, own_east) = (end(|s| s[0], f64::min)?, end(|s| s[0], f64::max)?);
    let (own_south, own_north) = (end(|s| s[1], f64::min)?, end(|s| s[1], f64::max)?);
    // One shrinkage for the whole farm, so that fields lie beside each other as on the ground.
    let shrink = libm::cos(south.to_radians());
    let east = |degrees: f64| (degrees * METRES_PER_DEGREE * shrink).round();
    let north = |degrees: f64| (degrees * METRES_PER_DEGREE).round();
    let ring = |ring: &Vec<[f64; 2]>| {
        let own = ring.iter();
        own.map(|spot| [east(spot[0] - own_west), north(spot[1] - own_south)])
            .collect()
    };
    Some(Outline {
        east: east(own_west - west),
        north: north(own_south - south),
        width: east(own_east - own_west),
        height: north(own_north - own_south),
        rings: rings.iter().map(ring).collect(),
    })
}
