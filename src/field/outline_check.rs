//! Outlines whose parts or holes lie where they cannot: edges that cross were refused when the file was read, so areas tell
//! the rest.

use geo::algorithm::bool_ops::unary_union;
use geo::{Area, BooleanOps, MultiPolygon, Polygon};

/// Areas that differ by less than this share of the outline are the same.
const ROUNDING: f64 = 1e-6;

/// What is wrong with an outline, in words; `None` where nothing is.
pub(super) fn fault(outline: &MultiPolygon<f64>) -> Option<&'static str> {
    let rounding = outline
        .iter()
        .map(|part| area_of(part.exterior().clone()))
        .sum::<f64>()
        * ROUNDING;
    outline
        .iter()
        .find_map(|part| hole_fault(part, rounding))
        .or_else(|| {
            let whole: f64 = outline.iter().map(Area::unsigned_area).sum();
            let overlaps =
                outline.0.len() > 1 && unary_union(outline).unsigned_area() < whole - rounding;
            overlaps.then_some("one of its parts lies inside another")
        })
}

fn hole_fault(part: &Polygon<f64>, rounding: f64) -> Option<&'static str> {
    if part.interiors().is_empty() {
        return None;
    }
    let holes: Vec<_> = part
        .interiors()
        .iter()
        .map(|ring| Polygon::new(ring.clone(), Vec::new()))
        .collect();
    let sum: f64 = holes.iter().map(Area::unsigned_area).sum();
    let union = unary_union(&holes);
    if union.unsigned_area() < sum - rounding {
        return Some("one of its holes lies inside another");
    }
    let exterior = Polygon::new(part.exterior().clone(), Vec::new());
    if exterior.intersection(&union).unsigned_area() < sum - rounding {
        return Some("one of its holes lies outside its outline");
    }
    (exterior.unsigned_area() - sum < rounding).then_some("its holes leave nothing of it")
}

fn area_of(ring: geo::LineString<f64>) -> f64 {
    Polygon::new(ring, Vec::new()).unsigned_area()
}
