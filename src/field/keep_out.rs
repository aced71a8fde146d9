//! Keep-outs: areas, lines and points with a buffer round them, cut from the field.

use geo::algorithm::buffer::{Buffer, BufferStyle, LineCap, LineJoin};
use geo::{Area, BooleanOps, Geometry, Intersects, MultiPolygon};

use super::outline::areas_of;

/// Angle between the vertices of a round corner, radians.
const CORNER_STEP: f64 = 0.1;
/// Parts of the workable area smaller than this are dropped, m²: no machine can work them, and they come from
/// outlines that run side by side.
const SMALLEST_PART_M2: f64 = 1.0;

/// The area that a keep-out takes, metres on the field's plane; empty for a line or point without a distance.
pub(super) fn area(shape: Geometry<f64>, distance_m: f64) -> MultiPolygon<f64> {
    if distance_m <= 0.0 {
        return areas_of(shape);
    }
    // Round corners are drawn as polygons, which lie inside the circle: widened so that nowhere is nearer than asked.
    let radius = distance_m / (CORNER_STEP / 2.0).cos();
    let style = BufferStyle::new(radius)
        .line_cap(LineCap::Round(CORNER_STEP))
        .line_join(LineJoin::Round(CORNER_STEP));
    match shape {
        Geometry::GeometryCollection(members) => members
            .into_iter()
            .fold(MultiPolygon(Vec::new()), |all, member| {
                union(&all, &area(member, distance_m))
            }),
        other => other.buffer_with_style(style),
    }
}

fn union(all: &MultiPolygon<f64>, one: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    if all.0.is_empty() {
        one.clone()
    } else {
        all.union(one)
    }
}

/// The boundary without the keep-outs. A keep-out that does not touch the field leaves the boundary as it is.
pub(super) fn cut(
    boundary: &MultiPolygon<f64>,
    keep_outs: &[MultiPolygon<f64>],
) -> MultiPolygon<f64> {
    let touching = keep_outs
        .iter()
        .filter(|k| k.intersects(boundary))
        .fold(MultiPolygon(Vec::new()), |all, one| union(&all, one));
    if touching.0.is_empty() {
        return boundary.clone();
    }
    let left = boundary.difference(&touching);
    MultiPolygon(
        left.0
            .into_iter()
            .filter(|part| part.unsigned_area() >= SMALLEST_PART_M2)
            .collect(),
    )
}
