//! The field's outline and the keep-outs from files of shapes.

use geo::{Geometry, GeometryCollection, MultiPolygon};

use crate::files::Files;
use crate::plan::{BoundarySettings, KeepOut};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::units::decimal;

use super::error::IntakeError;
use super::formats::read_shapes::read_shapes;
use super::formats::rings::{RingFault, fault};
use super::formats::shapes::{Shape, Shapes, polygons_of};
use super::source::{place_of, shown};
use super::survey::{AreaShape, InputFile};
use super::table::coordinates::is_geographic;

/// Where remarks and inputs go.
pub(super) struct Notes<'a> {
    /// Where the files lie.
    pub files: &'a Files,
    /// What can go on.
    pub remarks: &'a mut Vec<Remark>,
    /// What was read.
    pub inputs: &'a mut Vec<InputFile>,
}

/// Reads the boundary of a plan.
pub(super) fn read_boundary(
    settings: &BoundarySettings,
    notes: &mut Notes<'_>,
) -> Result<AreaShape<MultiPolygon<f64>>, IntakeError> {
    let place = place_of(&settings.file);
    let shapes = read_shapes(notes.files, &settings.file, notes.inputs)?;
    let crs = crs_of(&shapes, settings.crs.as_deref(), &place, notes.remarks)?;
    let chosen = choose(&shapes, settings.choose.as_ref(), &place)?;
    notes.remarks.extend(shapes.remarks.iter().cloned());
    let shape = outline(&chosen, &place)?;
    check_degrees(&crs, &shape, &place)?;
    Ok(AreaShape {
        file: shown(&settings.file).into(),
        shape,
        crs,
    })
}

/// The boundary in the bytes of a file, for tests and fuzzing.
pub(super) fn outline_of(
    shapes: &Shapes,
    choice: Option<&(String, String)>,
    place: &Place,
) -> Result<MultiPolygon<f64>, IntakeError> {
    outline(&choose(shapes, choice, place)?, place)
}

/// Reads one keep-out: all shapes of its file.
pub(super) fn read_keep_out(
    settings: &KeepOut,
    notes: &mut Notes<'_>,
) -> Result<AreaShape<Geometry<f64>>, IntakeError> {
    let place = place_of(&settings.file);
    let shapes = read_shapes(notes.files, &settings.file, notes.inputs)?;
    let crs = crs_of(&shapes, settings.crs.as_deref(), &place, notes.remarks)?;
    notes.remarks.extend(shapes.remarks.iter().cloned());
    let parts: Vec<Geometry<f64>> = shapes
        .list
        .into_iter()
        .filter_map(|shape| shape.geometry)
        .collect();
    if parts.is_empty() {
        return Err(IntakeError::Nothing {
            place,
            what: "the file of a keep-out holds no shape".to_owned(),
        });
    }
    let mut all = Vec::new();
    for part in parts {
        if let Ok(polygons) = polygons_of(&part) {
            let polygons = MultiPolygon(polygons);
            check_rings(&polygons, &place)?;
            all.push(Geometry::MultiPolygon(polygons));
        } else {
            all.push(part);
        }
    }
    let shape = if let [one] = all.as_slice() {
        one.clone()
    } else {
        Geometry::GeometryCollection(GeometryCollection(all))
    };
    Ok(AreaShape {
        file: shown(&settings.file).into(),
        shape,
        crs,
    })
}

/// The coordinate system of a file of shapes: the plan's word, else the file's, else the format's.
pub(super) fn crs_of(
    shapes: &Shapes,
    planned: Option<&str>,
    place: &Place,
    remarks: &mut Vec<Remark>,
) -> Result<String, IntakeError> {
    if let Some(planned) = planned {
        if shapes
            .crs
            .as_deref()
            .is_some_and(|own| own.trim() != planned.trim())
        {
            let what = "the plan and the file both name a coordinate system; the plan's is used";
            remarks.push(
                Remark::warning("two-coordinate-systems", what)
                    .at(place.clone())
                    .help("take crs out of the plan if the file is right"),
            );
        }
        return Ok(planned.to_owned());
    }
    if let Some(own) = &shapes.crs {
        if shapes.is_degrees_by_format {
            let what = format!(
                "the crs member says {own}; it is used, although GeoJSON is meant to be in degrees"
            );
            remarks.push(
                Remark::warning("crs-in-geojson", what)
                    .at(place.clone())
                    .help("export the file in degrees (EPSG:4326)"),
            );
        }
        return Ok(own.clone());
    }
    if shapes.is_degrees_by_format {
        return Ok("EPSG:4326".to_owned());
    }
    Err(IntakeError::CoordinateSystem {
        place: place.clone(),
        what: "there is no .prj file beside the shapefile".to_owned(),
        help: "add the .prj file, or crs = \"EPSG:...\" in the plan".to_owned(),
    })
}

/// The shapes that make the field.
fn choose(
    shapes: &Shapes,
    choice: Option<&(String, String)>,
    place: &Place,
) -> Result<Vec<Shape>, IntakeError> {
    let with_shape: Vec<&Shape> = shapes
        .list
        .iter()
        .filter(|shape| shape.geometry.is_some())
        .collect();
    if with_shape.is_empty() {
        return Err(IntakeError::Shape {
            place: place.clone(),
            what: "the file holds no shape".to_owned(),
            help: "export the field's boundary as a polygon".to_owned(),
        });
    }
    if let Some((key, value)) = choice {
        return chosen(&with_shape, key, value, place);
    }
    match with_shape.as_slice() {
        [one] => Ok(vec![(*one).clone()]),
        several => match distinguishing(several) {
            None => Ok(several.iter().map(|shape| (*shape).clone()).collect()),
            Some((key, values)) => {
                let list: Vec<String> = values
                    .iter()
                    .take(8)
                    .map(|value| format!("\"{value}\""))
                    .collect();
                let first = values.first().cloned().unwrap_or_default();
                Err(IntakeError::Choice {
                    place: place.clone(),
                    what: format!(
                        "the file holds {} shapes that differ in \"{key}\" ({})",
                        several.len(),
                        list.join(", ")
                    ),
                    help: format!(
                        "say which is the field: boundary = {{ file = \"...\", choose = {{ attribute = \"{key}\", is = \"{first}\" }} }}"
                    ),
                })
            }
        },
    }
}

fn chosen(
    shapes: &[&Shape],
    key: &str,
    value: &str,
    place: &Place,
) -> Result<Vec<Shape>, IntakeError> {
    let own = |shape: &&&Shape| {
        shape
            .attributes
            .iter()
            .find(|(name, _)| name == key)
            .map(|(_, own)| own.trim().to_owned())
    };
    let found: Vec<Shape> = shapes
        .iter()
        .filter(|shape| own(shape).as_deref() == Some(value.trim()))
        .map(|shape| (*shape).clone())
        .collect();
    if !found.is_empty() {
        return Ok(found);
    }
    let mut values: Vec<String> = shapes.iter().filter_map(|shape| own(&shape)).collect();
    values.dedup();
    let names: Vec<String> = shapes
        .first()
        .map(|shape| {
            shape
                .attributes
                .iter()
                .map(|(name, _)| name.clone())
                .collect()
        })
        .unwrap_or_default();
    let help = if values.is_empty() {
        format!(
            "there is no attribute \"{key}\"; {}",
            super::columns::nearest::nearest(key, &names).replace("columns", "attributes")
        )
    } else {
        format!(
            "the values of \"{key}\" are {}",
            values
                .iter()
                .take(12)
                .map(|v| format!("\"{v}\""))
                .collect::<Vec<_>>()
                .join(", ")
        )
    };
    Err(IntakeError::Choice {
        place: place.clone(),
        what: format!("no shape has \"{key}\" = \"{value}\""),
        help,
    })
}

/// The attribute that tells the shapes apart best; `None` where none does (one field in several parts).
fn distinguishing(shapes: &[&Shape]) -> Option<(String, Vec<String>)> {
    let names = shapes
        .first()?
        .attributes
        .iter()
        .map(|(name, _)| name.clone());
    let candidates = names.filter_map(|name| {
        let mut values: Vec<String> = shapes
            .iter()
            .filter_map(|shape| {
                shape
                    .attributes
                    .iter()
                    .find(|(own, _)| *own == name)
                    .map(|(_, value)| value.trim().to_owned())
            })
            .collect();
        values.sort();
        values.dedup();
        let is_text = values.iter().any(|value| value.parse::<f64>().is_err());
        (values.len() > 1).then_some((values.len(), is_text, name, values))
    });
    let best = candidates.max_by(|one, other| {
        (one.1, one.0)
            .cmp(&(other.1, other.0))
            .then(other.2.cmp(&one.2))
    })?;
    Some((best.2, best.3))
}

/// The attribute that tells the shapes of a file apart, with its values; `None` where the file is one field.
pub(super) fn distinguishing_attribute(shapes: &Shapes) -> Option<(String, Vec<String>)> {
    let with_shape: Vec<&Shape> = shapes
        .list
        .iter()
        .filter(|shape| shape.geometry.is_some())
        .collect();
    if with_shape.len() > 1 {
        distinguishing(&with_shape)
    } else {
        None
    }
}

fn outline(chosen: &[Shape], place: &Place) -> Result<MultiPolygon<f64>, IntakeError> {
    let mut polygons = Vec::new();
    for shape in chosen {
        let Some(geometry) = &shape.geometry else {
            continue;
        };
        polygons.extend(polygons_of(geometry).map_err(|kind| IntakeError::Shape {
            place: place.clone(),
            what: format!("shape {} is {kind}, not a polygon", shape.number),
            help: "a boundary is a closed outline: export it as a polygon".to_owned(),
        })?);
    }
    let outline = MultiPolygon(polygons);
    if outline.0.is_empty() {
        return Err(IntakeError::Shape {
            place: place.clone(),
            what: "the polygon has no points".to_owned(),
            help: "export the field's boundary again".to_owned(),
        });
    }
    check_rings(&outline, place)?;
    Ok(outline)
}

fn check_rings(shape: &MultiPolygon<f64>, place: &Place) -> Result<(), IntakeError> {
    let error = |what: String, help: &str| {
        Err(IntakeError::Shape {
            place: place.clone(),
            what,
            help: help.to_owned(),
        })
    };
    let at = |x: f64, y: f64| format!("({}, {})", decimal(x, 7), decimal(y, 7));
    match fault(shape) {
        None => Ok(()),
        Some(RingFault::TooFewPoints) => error(
            "a ring has fewer than three different points".to_owned(),
            "draw the outline again",
        ),
        Some(RingFault::NoArea) => error(
            "a ring has no area: its points lie on one line".to_owned(),
            "draw the outline again",
        ),
        Some(RingFault::Crossing(x, y)) => error(
            format!("the outline crosses itself near {}", at(x, y)),
            "move the vertices near that place apart",
        ),
        Some(RingFault::TooTangled) => error(
            "the outline has too many edges beside each other to be checked".to_owned(),
            "simplify it to a metre or so",
        ),
        Some(RingFault::Overlap(x, y)) => error(
            format!(
                "two edges of the outline lie on each other near {}",
                at(x, y)
            ),
            "take the doubled edge out",
        ),
    }
}

fn check_degrees(crs: &str, shape: &MultiPolygon<f64>, place: &Place) -> Result<(), IntakeError> {
    let mut points = shape
        .0
        .iter()
        .flat_map(|polygon| polygon.exterior().0.iter());
    if !is_geographic(crs) {
        return Ok(());
    }
    match points.find(|point| point.x.abs() > 180.0 || point.y.abs() > 90.0) {
        None => Ok(()),
        Some(point) => Err(IntakeError::Coordinates {
            place: place.clone(),
            what: format!("({}, {}) is not longitude and latitude in degrees", decimal(point.x, 4), decimal(point.y, 4)),
            help: "give the projected system in the plan, for example crs = \"EPSG:26914\", or export the file in degrees; \
                      if latitude stands first, swap the two"
                .to_owned(),
        }),
    }
}
