//! What a draft takes from the file of the boundary: the outline's line, the field's name, its people and season.

use std::path::Path;

use geo::{BoundingRect, Contains, Coord};

use crate::analyte::folded_name;
use crate::files::Files;
use crate::intake::boundary_choice::distinguishing_attribute;
use crate::intake::error::IntakeError;
use crate::intake::formats::read_shapes::{layer_names, read_shapes};
use crate::intake::formats::shapes::{LayerWish, Shape, Shapes};
use crate::intake::inner_shapes::{areas, shape_label, shapes_inside};
use crate::plan::{DraftLine, Trust};

use super::text::relative;

/// Further layers of a boundary's file that are looked into.
const MOST_LAYERS: usize = 20;
/// Other shapes of a boundary's file that are compared with the points, and that a note lists.
const MOST_COMPARED: usize = 500;
const MOST_TOLD: usize = 12;
/// Points with which the shapes are compared.
const MOST_PLACES: usize = 500;
/// Names of the attribute that says a field's name, in plain form.
const FIELD_NAMES: [&str; 12] = [
    "field",
    "field name",
    "fieldname",
    "fldname",
    "field id",
    "name",
    "schlag",
    "schlagname",
    "feld",
    "parcelle",
    "parcela",
    "talhao",
];
const GROWER_NAMES: [&str; 8] = [
    "grower",
    "grower name",
    "client",
    "client name",
    "customer",
    "landwirt",
    "produtor",
    "productor",
];
const FARM_NAMES: [&str; 6] = ["farm", "farm name", "betrieb", "ferme", "finca", "fazenda"];
const SEASON_NAMES: [&str; 5] = ["season", "year", "crop year", "jahr", "campaign"];

/// The shapes of a boundary's file, the one that is taken for the field first.
#[derive(Default)]
pub(super) struct FieldShapes {
    /// The shapes.
    pub shapes: Shapes,
    /// The layer that they are from, where the file has several.
    layer: Option<String>,
    /// How many of the points stand in the first shape, where there are several shapes or layers and some points stand in it.
    inside: Option<(usize, usize)>,
}

/// Reads the boundary; of several layers and shapes the one is taken in which the most points stand.
pub(super) fn field_of(
    files: &Files,
    file: &Path,
    places: &[(f64, f64)],
) -> Result<FieldShapes, IntakeError> {
    let places = &places[..places.len().min(MOST_PLACES)];
    let read = |wish| read_shapes(files, file, wish, &mut Vec::new());
    let names = layer_names(files, file, LayerWish::Areas)?;
    let (layer, mut shapes) = if let [first, others @ ..] = names.as_slice()
        && !others.is_empty()
    {
        let mut best = (first, read(LayerWish::Named(first))?);
        for name in others.iter().take(MOST_LAYERS) {
            let Ok(other) = read(LayerWish::Named(name)) else {
                continue;
            };
            let most = |shapes: &Shapes| most_inside(shapes, places).1;
            if most(&other) > most(&best.1) {
                best = (name, other);
            }
        }
        (Some(best.0.clone()), best.1)
    } else {
        (None, read(LayerWish::Areas)?)
    };
    let (at, count) = most_inside(&shapes, places);
    if at < shapes.list.len() {
        shapes.list[..=at].rotate_right(1);
    }
    let is_choice = layer.is_some() || shapes.list.len() > 1;
    Ok(FieldShapes {
        shapes,
        layer,
        inside: (is_choice && count > 0).then_some((count, places.len())),
    })
}

/// What has to be said of the other shapes of the file: those inside the one that is taken, and those in which points stand as well.
pub(super) fn looks(field: &FieldShapes, places: &[(f64, f64)]) -> Vec<String> {
    let shapes = &field.shapes;
    let attribute = distinguishing_attribute(shapes).map(|(name, _)| name);
    let Some((chosen, others)) = shapes.list.split_first() else {
        return Vec::new();
    };
    // Without an attribute that tells them apart, all shapes are the field.
    if attribute.is_none() || others.is_empty() {
        return Vec::new();
    }
    let places = &places[..places.len().min(MOST_PLACES)];
    let label = |shape: &&Shape| shape_label(shape, attribute.as_deref());
    let inside = shapes_inside(std::slice::from_ref(chosen), shapes);
    let names: Vec<String> = inside.iter().take(MOST_TOLD).map(label).collect();
    let mut looks = Vec::new();
    if !names.is_empty() {
        looks.push(format!(
            "{} lies inside the field that is taken and counts as field: where nothing may be placed there, save it in a file of its own \
             and name that under [[keep_out]]",
            names.join(", ")
        ));
    }
    let is_inside = |shape: &Shape| inside.iter().any(|own| own.number == shape.number);
    let held: Vec<(&Shape, usize)> = others
        .iter()
        .take(MOST_COMPARED)
        .filter(|shape| !is_inside(shape))
        .map(|shape| (shape, inside_count(shape, places)))
        .filter(|(_, count)| *count > 0)
        .collect();
    let count: usize = held.iter().map(|(_, count)| count).sum();
    if count > 0 {
        let names: Vec<String> = held
            .iter()
            .take(MOST_TOLD)
            .map(|(shape, _)| label(shape))
            .collect();
        looks.push(format!(
            "{count} of the first {} points stand in {}: where the field is all shapes of the file, write choose = {{ all = true }} in the \
             line of the boundary",
            places.len(),
            names.join(", ")
        ));
    }
    looks
}

/// How many places stand in a shape.
fn inside_count(shape: &Shape, places: &[(f64, f64)]) -> usize {
    let polygons = areas(shape);
    let Some(bounds) = polygons.bounding_rect() else {
        return 0;
    };
    let stands = |&&(x, y): &&(f64, f64)| {
        let place = Coord { x, y };
        bounds.contains(&place) && polygons.contains(&place)
    };
    places.iter().filter(stands).count()
}

/// The shape in which the most points stand, and how many; the first shape with a geometry where none stands in any.
fn most_inside(shapes: &Shapes, places: &[(f64, f64)]) -> (usize, usize) {
    let first = shapes
        .list
        .iter()
        .position(|shape| shape.geometry.is_some());
    let mut best = (first.unwrap_or(0), 0);
    for (at, shape) in shapes.list.iter().enumerate() {
        let count = inside_count(shape, places);
        if count > best.1 {
            best = (at, count);
        }
    }
    best
}

/// The line of the boundary.
pub(super) fn boundary_line(field: &FieldShapes, file: &Path, folder: &Path) -> DraftLine {
    let shapes = &field.shapes;
    let path = DraftLine::quoted(&relative(file, folder));
    let (mut keys, mut notes) = (String::new(), Vec::new());
    if let Some(layer) = &field.layer {
        keys.push_str(&format!(", layer = {}", DraftLine::quoted(layer)));
        notes.push("the file holds several layers".to_owned());
    }
    if shapes.crs.is_none() && !shapes.is_degrees_by_format {
        keys.push_str(", crs = \"EPSG:4326\"");
        notes.push("the file has no .prj; write its coordinate system here".to_owned());
    }
    if let Some((attribute, values)) = distinguishing_attribute(shapes) {
        // The shape that the field's name is taken from.
        let own = self::attribute(shapes, &[&folded_name(&attribute).replace('_', " ")]);
        let first = own
            .map(|(_, value)| value)
            .or_else(|| values.first().cloned())
            .unwrap_or_default();
        keys.push_str(&format!(
            ", choose = {{ attribute = {}, is = {} }}",
            DraftLine::quoted(&attribute),
            DraftLine::quoted(&first)
        ));
        let list: Vec<String> = values
            .iter()
            .take(12)
            .map(|value| DraftLine::quoted(value))
            .collect();
        notes.push(format!(
            "the file holds several shapes: {}",
            list.join(", ")
        ));
    }
    if let (false, Some((inside, of))) = (notes.is_empty(), field.inside) {
        notes.push(format!(
            "in the one that is taken stand {inside} of the first {of} points"
        ));
    }
    let line = DraftLine::new("boundary", format!("{{ file = {path}{keys} }}"));
    if notes.is_empty() {
        line
    } else {
        line.because(Trust::Guessed, notes.join("; "))
    }
}

/// The field's name, where an attribute says it.
pub(super) fn field_name(shapes: &Shapes) -> Option<(String, String)> {
    attribute(shapes, &FIELD_NAMES)
}

/// The season, where an attribute says it.
pub(super) fn season(shapes: &Shapes) -> Option<(String, u64)> {
    let (name, value) = attribute(shapes, &SEASON_NAMES)?;
    let year: u64 = value.parse().ok()?;
    (2000..=2100).contains(&year).then_some((name, year))
}

/// Grower and farm, where attributes say them.
pub(super) fn people(shapes: &Shapes) -> Vec<DraftLine> {
    [("grower", &GROWER_NAMES[..]), ("farm", &FARM_NAMES[..])]
        .into_iter()
        .filter_map(|(key, names)| {
            let (name, value) = attribute(shapes, names)?;
            let why = format!("from the boundary's attribute {name}");
            Some(DraftLine::text(key, &value).because(Trust::Guessed, why))
        })
        .collect()
}

/// The first attribute with one of some names, and its value.
fn attribute(shapes: &Shapes, names: &[&str]) -> Option<(String, String)> {
    let first: &Shape = shapes.list.iter().find(|shape| shape.geometry.is_some())?;
    names.iter().find_map(|wanted| {
        first
            .attributes
            .iter()
            .find(|(name, value)| {
                folded_name(name).replace('_', " ") == *wanted && !value.trim().is_empty()
            })
            .map(|(name, value)| (name.clone(), value.trim().to_owned()))
    })
}
