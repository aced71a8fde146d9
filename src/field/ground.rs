//! The ground: the boundary on the field's plane, and what the keep-outs leave of it.

use geo::{BoundingRect, Geometry, MultiPolygon, Rect};

use super::meridian;
use super::misplaced::Neighbourhood;
use super::observations;
use super::outline::{self, geodesic_area, middle};
use super::projection_polynomial::{MANY, ProjectionPolynomial};
use super::{FieldError, KeptOut, ProjectionError, WorkingCrs, keep_out, outline_check};
use crate::intake::Survey;
use crate::plan::Settings;
use crate::provenance::Place;
use crate::remark::Remark;

/// Widest field that is believed, metres.
const WIDEST_M: f64 = 50_000.0;
/// Smallest field that is believed, m².
const SMALLEST_M2: f64 = 100.0;

/// The plan file's name, for messages.
pub(super) fn plan_name(settings: &Settings) -> String {
    settings.plan_file.display().to_string()
}

/// The field without its observations.
pub(super) struct Ground {
    pub crs: WorkingCrs,
    /// What stands for the projection where a table is long.
    pub projection_polynomial: Option<ProjectionPolynomial>,
    pub boundary: MultiPolygon<f64>,
    pub workable: MultiPolygon<f64>,
    pub kept_out: Vec<KeptOut>,
    pub area_m2: f64,
    pub workable_m2: f64,
}

/// Lays boundary and keep-outs on a plane centred on the field.
///
/// # Errors
/// All problems of the boundary, or all of the keep-outs.
pub(super) fn lay(
    survey: &Survey,
    settings: &Settings,
    remarks: &mut Vec<Remark>,
) -> Result<Ground, Vec<FieldError>> {
    let outline = outline_on_plane(survey, remarks).map_err(|problem| vec![problem])?;
    let around = Neighbourhood {
        crs: &outline.crs,
        bounds: outline.bounds,
        boundary_crs: &survey.boundary.crs,
        units: settings.units,
    };
    let kept_out = keep_out::keep_outs(
        &survey.keep_outs,
        settings,
        &around,
        &outline.boundary,
        remarks,
    )?;
    let workable = keep_out::cut(&outline.boundary, &kept_out);
    if workable.0.is_empty() {
        return Err(vec![FieldError::NothingLeft {
            place: Place::file(plan_name(settings)).at_key("keep_out"),
        }]);
    }
    let workable_m2 = plane_area_on_ellipsoid(&workable, &outline.crs)
        .map_err(|cause| vec![projection_failed(survey, cause)])?;
    Ok(Ground {
        crs: outline.crs,
        projection_polynomial: outline.projection_polynomial,
        boundary: outline.boundary,
        workable,
        kept_out,
        area_m2: outline.area_m2,
        workable_m2,
    })
}

/// The boundary on its plane, for an estimate of the work.
pub(super) fn boundary_on_plane(survey: &Survey) -> Result<MultiPolygon<f64>, FieldError> {
    outline_on_plane(survey, &mut Vec::new()).map(|outline| outline.boundary)
}

fn projection_failed(survey: &Survey, cause: ProjectionError) -> FieldError {
    FieldError::Projection {
        place: Place::file(survey.boundary.file.clone()),
        cause,
    }
}

/// The boundary, before anything is kept out of it.
struct Outline {
    crs: WorkingCrs,
    projection_polynomial: Option<ProjectionPolynomial>,
    boundary: MultiPolygon<f64>,
    /// Bounding box in degrees.
    bounds: Rect<f64>,
    area_m2: f64,
}

fn outline_on_plane(survey: &Survey, remarks: &mut Vec<Remark>) -> Result<Outline, FieldError> {
    let place = Place::file(survey.boundary.file.clone());
    let failed = |cause| projection_failed(survey, cause);
    let shape = Geometry::MultiPolygon(survey.boundary.shape.clone());
    let (degrees, route) = outline::to_degrees(&shape, &survey.boundary.crs).map_err(failed)?;
    observations::check_route(&route, &survey.boundary.crs, &place, remarks)?;
    let degrees = meridian::joined(outline::areas_of(degrees));
    let area_m2 = geodesic_area(&degrees);
    let (Some(bounds), Some((longitude, latitude)), true) = (
        degrees.bounding_rect(),
        middle(&degrees),
        area_m2 >= SMALLEST_M2,
    ) else {
        return Err(FieldError::TooSmall {
            place,
            square_metres: area_m2,
        });
    };
    let crs = WorkingCrs::centred_on(longitude, latitude);
    let projection_polynomial = projection_polynomial(survey, &crs, bounds).map_err(failed)?;
    let plane = outline::to_plane(&Geometry::MultiPolygon(degrees), &crs).map_err(failed)?;
    let boundary = outline::areas_of(plane);
    if let Some(what) = outline_check::fault(&boundary) {
        return Err(FieldError::Outline { place, what });
    }
    let widest = boundary
        .bounding_rect()
        .map_or(0.0, |r| r.width().max(r.height()));
    if widest > WIDEST_M {
        return Err(FieldError::TooLarge {
            place,
            kilometres: widest / 1_000.0,
            limit_kilometres: WIDEST_M / 1_000.0,
        });
    }
    Ok(Outline {
        crs,
        projection_polynomial,
        boundary,
        bounds,
        area_m2,
    })
}

/// The projection polynomial of the field, where a table is long enough to be worth one.
fn projection_polynomial(
    survey: &Survey,
    crs: &WorkingCrs,
    bounds: Rect<f64>,
) -> Result<Option<ProjectionPolynomial>, ProjectionError> {
    // Places on the far side of the 180th meridian are a turn away from the polynomial's own longitudes.
    let is_across = bounds.max().x > 180.0;
    if is_across || !survey.tables.iter().any(|table| table.x.len() >= MANY) {
        return Ok(None);
    }
    let (low, high) = (bounds.min(), bounds.max());
    ProjectionPolynomial::round(crs, (low.x, low.y, high.x, high.y))
}

fn plane_area_on_ellipsoid(
    area: &MultiPolygon<f64>,
    crs: &WorkingCrs,
) -> Result<f64, ProjectionError> {
    match outline::to_degrees_from_plane(&Geometry::MultiPolygon(area.clone()), crs)? {
        Geometry::MultiPolygon(degrees) => Ok(geodesic_area(&degrees)),
        _ => Ok(0.0),
    }
}
