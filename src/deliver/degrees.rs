//! Zone outlines in whole steps of 0.000 000 01 degree: what is equal in one file is equal in all, and geometry is exact.

use std::cell::Cell;
use std::fmt::Write;

use geo::{BooleanOps, Coord, CoordsIter, LineString, MapCoords, MultiPolygon, Polygon, Rect};

use crate::field::{ProjectionError, WorkingCrs};

const STEPS_PER_DEGREE: f64 = 1e8;

/// A place in steps of 1e-8 degree, about a millimetre.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Spot {
    /// Longitude.
    pub lon: i64,
    /// Latitude.
    pub lat: i64,
}

impl Spot {
    /// The nearest spot to a place in degrees.
    #[must_use]
    pub fn from_degrees(lon: f64, lat: f64) -> Self {
        Self {
            lon: (lon * STEPS_PER_DEGREE).round() as i64,
            lat: (lat * STEPS_PER_DEGREE).round() as i64,
        }
    }

    /// Longitude in degrees.
    #[must_use]
    pub fn longitude(self) -> f64 {
        self.lon as f64 / STEPS_PER_DEGREE
    }

    /// Latitude in degrees.
    #[must_use]
    pub fn latitude(self) -> f64 {
        self.lat as f64 / STEPS_PER_DEGREE
    }
}

/// Appends steps as a plain decimal of degrees: at most 8 decimals, no trailing zeros.
pub fn push_decimal(out: &mut String, steps: i64) {
    if steps < 0 {
        out.push('-');
    }
    let size = steps.unsigned_abs();
    let (whole, mut part) = (size / 100_000_000, size % 100_000_000);
    // Writing to a string cannot fail.
    let _ = write!(out, "{whole}");
    if part > 0 {
        let mut digits = 8;
        while part % 10 == 0 {
            part /= 10;
            digits -= 1;
        }
        let _ = write!(out, ".{part:0digits$}");
    }
}

/// A closed ring without its repeated last spot, and without spots that fell together.
pub type Ring = Vec<Spot>;

/// One part of a zone: an outer ring, counter-clockwise, and its holes, clockwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Outer ring.
    pub outer: Ring,
    /// Holes.
    pub holes: Vec<Ring>,
}

impl Part {
    /// The part with all its longitudes from 0 to 360.
    #[must_use]
    pub fn eastward(&self) -> Self {
        let turned = |ring: &Ring| ring.iter().map(eastward).collect();
        Self {
            outer: turned(&self.outer),
            holes: self.holes.iter().map(turned).collect(),
        }
    }
}

/// Twice the area of a ring, positive where it runs counter-clockwise.
#[must_use]
pub fn doubled_area(ring: &[Spot]) -> i128 {
    let Some(origin) = ring.first() else { return 0 };
    let arm = |spot: &Spot| {
        (
            i128::from(spot.lon - origin.lon),
            i128::from(spot.lat - origin.lat),
        )
    };
    ring.windows(2)
        .map(|pair| {
            let ((ax, ay), (bx, by)) = (arm(&pair[0]), arm(&pair[1]));
            ax * by - bx * ay
        })
        .sum()
}

/// The parts of an outline in degrees. Rings that are no area after rounding are left out.
#[must_use]
pub fn parts(outline: &MultiPolygon<f64>) -> Vec<Part> {
    outline
        .iter()
        .filter_map(|polygon| {
            let outer = ring(polygon.exterior(), true)?;
            Some(Part {
                outer,
                holes: polygon
                    .interiors()
                    .iter()
                    .filter_map(|hole| ring(hole, false))
                    .collect(),
            })
        })
        .collect()
}

/// The parts of an outline on the field's plane.
///
/// # Errors
/// Where PROJ cannot bring a place to degrees.
pub fn from_plane(
    crs: &WorkingCrs,
    shape: &MultiPolygon<f64>,
) -> Result<Vec<Part>, ProjectionError> {
    let mut places: Vec<(f64, f64)> = shape.coords_iter().map(|c| (c.x, c.y)).collect();
    crs.unproject_outline(&mut places)?;
    // Both walks go through the coordinates in the same order.
    let next = Cell::new(0);
    let degrees = shape.map_coords(|c| {
        let at = next.replace(next.get() + 1);
        places.get(at).map_or(c, |&(x, y)| Coord { x, y })
    });
    Ok(cut_at_180(parts(&degrees)))
}

/// Half of the way round, in steps.
const HALF_ROUND: i64 = 18_000_000_000;

/// The same ground with longitudes from -180 to 180: parts on both sides are cut in two (RFC 7946, 3.1.9).
#[must_use]
pub fn cut_at_180(parts: Vec<Part>) -> Vec<Part> {
    let is_beyond = |part: &Part| part.outer.iter().any(|spot| spot.lon.abs() > HALF_ROUND);
    if !parts.iter().any(is_beyond) {
        return parts;
    }
    let spots = parts.iter().flat_map(|part| &part.outer);
    let Some((low, high)) = bounds(spots) else {
        return parts;
    };
    // From the meridian itself, so that the numbers are small and the cut lies exactly on it.
    let meridian = if low.lon < 0 { -HALF_ROUND } else { HALF_ROUND };
    let origin = Spot {
        lon: meridian,
        lat: low.lat,
    };
    let whole = MultiPolygon(parts.iter().map(|part| polygon(part, origin)).collect());
    let (width, height) = ((high.lon - low.lon) as f64, (high.lat - low.lat) as f64);
    let mut cut = Vec::new();
    for (west, east) in [(-width, 0.0), (0.0, width)] {
        let side = Rect::new((west, 0.0), (east, height)).to_polygon();
        let is_beyond = (meridian > 0) == (east > 0.0);
        let turn = if is_beyond { -2 * meridian } else { 0 };
        let own = whole.intersection(&side).map_coords(|c| Coord {
            x: (c.x.round() as i64 + meridian + turn) as f64 / STEPS_PER_DEGREE,
            y: (c.y.round() as i64 + origin.lat) as f64 / STEPS_PER_DEGREE,
        });
        cut.extend(self::parts(&own));
    }
    cut
}

/// Whether spots lie on both sides of the 180th meridian.
pub fn is_across_180<'a>(spots: impl Iterator<Item = &'a Spot>) -> bool {
    bounds(spots).is_some_and(|(low, high)| high.lon - low.lon > HALF_ROUND)
}

/// A spot east of Greenwich: what lies west of it is a turn further on.
#[must_use]
pub fn eastward(spot: &Spot) -> Spot {
    Spot {
        lon: if spot.lon < 0 {
            spot.lon + 2 * HALF_ROUND
        } else {
            spot.lon
        },
        lat: spot.lat,
    }
}

/// A part in steps from an origin.
fn polygon(part: &Part, origin: Spot) -> Polygon<f64> {
    let line = |ring: &Ring| {
        let closed = ring.iter().chain(ring.first());
        let place = |spot: &Spot| {
            let (lon, lat) = (spot.lon - origin.lon, spot.lat - origin.lat);
            (lon as f64, lat as f64)
        };
        closed.map(place).collect::<LineString<f64>>()
    };
    Polygon::new(line(&part.outer), part.holes.iter().map(line).collect())
}

fn ring(line: &LineString<f64>, is_counter_clockwise: bool) -> Option<Ring> {
    let mut spots: Ring = line
        .coords()
        .map(|c| Spot::from_degrees(c.x, c.y))
        .collect();
    spots.dedup();
    while spots.len() > 1 && spots.first() == spots.last() {
        spots.pop();
    }
    let area = doubled_area(&spots);
    if spots.len() < 3 || area == 0 {
        return None;
    }
    if (area > 0) != is_counter_clockwise {
        spots.reverse();
    }
    Some(spots)
}

/// West, south, east and north end of some spots; `None` where there are none.
#[must_use]
pub fn bounds<'a>(spots: impl Iterator<Item = &'a Spot>) -> Option<(Spot, Spot)> {
    spots.fold(None, |found, spot| {
        let (low, high) = found.unwrap_or((*spot, *spot));
        Some((
            Spot {
                lon: low.lon.min(spot.lon),
                lat: low.lat.min(spot.lat),
            },
            Spot {
                lon: high.lon.max(spot.lon),
                lat: high.lat.max(spot.lat),
            },
        ))
    })
}
