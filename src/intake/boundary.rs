//! The field's outline and the keep-outs from files of shapes.

use geo::{Geometry, GeometryCollection, MultiPolygon};

use crate::files::Files;
use crate::plan::{BoundarySettings, FieldChoice, KeepOut};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::units::decimal;

use super::boundary_choice::{choose, distinguishing_attribute};
use super::dissolve::dissolve;
use super::error::IntakeError;
use super::formats::read_shapes::read_shapes;
use super::formats::rings::{RingFault, fault};
use super::formats::shapes::{LayerWish, Shape, Shapes, polygons_of};
use super::inner_shapes::{shape_label, shapes_inside};
use super::source::{place_of, shown};
use super::survey::{AreaShape, InputFile};
use super::table::coordinates::is_geographic;

/// Shapes inside a field that a remark lists.
const MOST_TOLD: usize = 12;

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
    let shapes = read_shapes(
        notes.files,
        &settings.file,
        LayerWish::or(settings.layer.as_deref(), LayerWish::Areas),
        notes.inputs,
    )?;
    let crs = crs_of(&shapes, settings.crs.as_deref(), &place, notes.remarks)?;
    let chosen = choose(&shapes, settings.choose.as_ref(), &place)?;
    notes.remarks.extend(shapes.remarks.iter().cloned());
    notes.remarks.extend(inner_remark(&chosen, &shapes, &place));
    let shape = outline(&chosen, &place, notes.remarks)?;
    check_degrees(&crs, &shape, &place)?;
    Ok(AreaShape {
        file: shown(&settings.file).into(),
        shape,
        crs,
    })
}

/// Shapes of the file that lie inside the field count as field.
fn inner_remark(chosen: &[Shape], shapes: &Shapes, place: &Place) -> Option<Remark> {
    let attribute = distinguishing_attribute(shapes).map(|(name, _)| name);
    let inside = shapes_inside(chosen, shapes);
    let names: Vec<String> = inside
        .iter()
        .take(MOST_TOLD)
        .map(|shape| shape_label(shape, attribute.as_deref()))
        .collect();
    let what = format!(
        "{} of the same file {} inside the field: counted as field",
        names.join(", "),
        if inside.len() == 1 { "lies" } else { "lie" }
    );
    let help = "where nothing may be placed there, name it in a file of its own under [[keep_out]]";
    (!inside.is_empty()).then(|| {
        Remark::assumption("shape-inside-field", what)
            .at(place.clone())
            .help(help)
    })
}

/// The boundary in the bytes of a file, for tests and fuzzing.
pub(super) fn outline_of(
    shapes: &Shapes,
    choice: Option<&FieldChoice>,
    place: &Place,
) -> Result<MultiPolygon<f64>, IntakeError> {
    outline(&choose(shapes, choice, place)?, place, &mut Vec::new())
}

/// Reads one keep-out: all shapes of its file.
pub(super) fn read_keep_out(
    settings: &KeepOut,
    notes: &mut Notes<'_>,
) -> Result<AreaShape<Geometry<f64>>, IntakeError> {
    let place = place_of(&settings.file);
    let shapes = read_shapes(notes.files, &settings.file, LayerWish::Areas, notes.inputs)?;
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

/// The outline of the shapes that were chosen; parcels that share an edge become one.
fn outline(
    chosen: &[Shape],
    place: &Place,
    remarks: &mut Vec<Remark>,
) -> Result<MultiPolygon<f64>, IntakeError> {
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
    if outline.0.len() > 1 {
        for part in &outline.0 {
            check_rings(&MultiPolygon(vec![part.clone()]), place)?;
        }
        if let Some(dissolved) = dissolve(&outline) {
            remarks.push(dissolved.remark().at(place.clone()));
            return Ok(dissolved.outline);
        }
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
