//! Shapes of a boundary's file that lie inside the field: a pond, a yard, a planting.

use geo::{BoundingRect, Contains, MultiPolygon};

use super::formats::shapes::{Shape, Shapes, polygons_of};

/// Shapes that are compared with the field.
const MOST_COMPARED: usize = 500;

/// The shapes of a file that lie inside those that were chosen for the field and were not chosen themselves.
pub(super) fn shapes_inside<'a>(chosen: &[Shape], all: &'a Shapes) -> Vec<&'a Shape> {
    let field = MultiPolygon(chosen.iter().flat_map(|own| areas(own).0).collect());
    let Some(bounds) = field.bounding_rect() else {
        return Vec::new();
    };
    let is_inside = |shape: &&Shape| {
        let area = areas(shape);
        let is_chosen = chosen.iter().any(|own| own.number == shape.number);
        let is_near = area
            .bounding_rect()
            .is_some_and(|own| bounds.contains(&own));
        !is_chosen && is_near && area.0.iter().all(|polygon| field.contains(polygon))
    };
    let compared = all.list.iter().take(MOST_COMPARED);
    compared.filter(is_inside).collect()
}

/// The polygons of a shape; none where it is no area.
pub(super) fn areas(shape: &Shape) -> MultiPolygon<f64> {
    let geometry = shape.geometry.as_ref();
    MultiPolygon(
        geometry
            .and_then(|own| polygons_of(own).ok())
            .unwrap_or_default(),
    )
}

/// What a person calls a shape: its value of an attribute, else its number.
pub(super) fn shape_label(shape: &Shape, attribute: Option<&str>) -> String {
    let value = shape
        .attributes
        .iter()
        .find(|(name, _)| Some(name.as_str()) == attribute)
        .map(|(_, value)| value.trim())
        .filter(|value| !value.is_empty());
    value.map_or_else(
        || format!("shape {}", shape.number),
        |value| format!("\"{value}\""),
    )
}
