//! Fields on both sides of the 180th meridian, whose files cut them there (RFC 7946, 3.1.9: "Antimeridian Cutting").

use geo::{BoundingRect, Coord, Geometry, MapCoords, MultiPolygon, unary_union};

/// Half of the way round, degrees: a shape that spans more lies on both sides of the 180th meridian.
const HALF_ROUND: f64 = 180.0;

/// A shape in degrees whose longitudes run on beyond 180 where it lies on both sides.
pub(super) fn continuous(degrees: Geometry<f64>) -> Geometry<f64> {
    let is_across = degrees
        .bounding_rect()
        .is_some_and(|bounds| bounds.width() > HALF_ROUND);
    if is_across {
        degrees.map_coords(|c| Coord {
            x: if c.x < 0.0 {
                c.x + 2.0 * HALF_ROUND
            } else {
                c.x
            },
            y: c.y,
        })
    } else {
        degrees
    }
}

/// The parts of an outline joined where the meridian cut them.
pub(super) fn joined(outline: MultiPolygon<f64>) -> MultiPolygon<f64> {
    if outline
        .bounding_rect()
        .is_some_and(|bounds| bounds.max().x > HALF_ROUND)
    {
        unary_union(&outline)
    } else {
        outline
    }
}

/// A shape in degrees on the same turn of the globe as a longitude.
pub(super) fn beside(degrees: Geometry<f64>, longitude: f64) -> Geometry<f64> {
    let middle = degrees
        .bounding_rect()
        .map_or(longitude, |bounds| bounds.center().x);
    match turns(longitude - middle) {
        0.0 => degrees,
        turns => degrees.map_coords(|c| Coord {
            x: c.x + turns,
            y: c.y,
        }),
    }
}

/// Whole turns of the globe in a difference of longitudes, degrees.
pub(super) fn turns(difference: f64) -> f64 {
    2.0 * HALF_ROUND * (difference / (2.0 * HALF_ROUND)).round()
}
