use geo::{BoundingRect, Geometry, MultiPolygon};

use super::inside::Inside;
use super::observations::{self, Located};
use super::outline::{self, geodesic_area, middle};
use super::projection_polynomial::{MANY, ProjectionPolynomial};
use super::{Field, FieldError, Grid, KeptOut, WorkingCrs, keep_out};
use crate::intake::{AreaShape, PointTable, Survey};
use crate::plan::Settings;
use crate::provenance::Place;
use crate::remark::Remark;

/// Widest field that is believed, metres.
const WIDEST_M: f64 = 50_000.0;
/// Smallest field that is believed, m².
const SMALLEST_M2: f64 = 100.0;
/// Fewest observations that anything can be said from.
const LEAST_POINTS: usize = 3;

/// Lays the survey on a metric plane centred on the field.
///
/// # Errors
/// All problems found with the coordinate systems, the boundary, the keep-outs, the grid and the places of the points.
pub fn lay_out(survey: Survey, settings: &Settings) -> Result<Field, Vec<FieldError>> {
    let mut remarks = Vec::new();
    let ground = ground(&survey, settings, &mut remarks)?;
    let grid = Grid::over(
        &ground.workable,
        settings.cell.metres(),
        &Place::file(plan_name(settings)).at_key("grid.cell"),
    )
    .map_err(|e| vec![e])?;
    let inside = Inside::new(&ground.boundary, &grid);
    let (mut places, mut layers, mut cones, mut problems) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    // A plan without files of points asks for a sampling layout only.
    let has_points = !survey.tables.is_empty();
    for (index, table) in survey.tables.into_iter().enumerate() {
        match on_field(table, index, &ground, &inside, settings, &mut remarks) {
            Ok(located) => {
                places.push(located.places);
                layers.extend(located.layers);
                cones.push(located.cone);
            }
            Err(problem) => problems.push(problem),
        }
    }
    let usable: usize = places.iter().map(|p| p.x.len() - p.outside.len()).sum();
    if problems.is_empty() && has_points && usable < LEAST_POINTS {
        problems.push(FieldError::TooFewPoints {
            place: Place::file(plan_name(settings)).at_key("points"),
            usable,
            least: LEAST_POINTS,
        });
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    let Ground {
        crs,
        boundary,
        workable,
        kept_out,
        area_m2,
        workable_m2,
        ..
    } = ground;
    Ok(Field {
        crs,
        boundary,
        workable,
        kept_out,
        area_m2,
        workable_m2,
        grid,
        places,
        layers,
        cones,
        inputs: survey.inputs,
        remarks,
    })
}

fn plan_name(settings: &Settings) -> String {
    settings.plan_file.display().to_string()
}

/// The field without its observations.
struct Ground {
    crs: WorkingCrs,
    /// What stands for the projection where a table is long.
    projection_polynomial: Option<ProjectionPolynomial>,
    boundary: MultiPolygon<f64>,
    workable: MultiPolygon<f64>,
    kept_out: Vec<KeptOut>,
    area_m2: f64,
    workable_m2: f64,
}

fn ground(
    survey: &Survey,
    settings: &Settings,
    remarks: &mut Vec<Remark>,
) -> Result<Ground, Vec<FieldError>> {
    let place = Place::file(survey.boundary.file.clone());
    let one = |problem: FieldError| vec![problem];
    let (degrees, route) = outline::to_degrees(
        &Geometry::MultiPolygon(survey.boundary.shape.clone()),
        &survey.boundary.crs,
    )
    .map_err(|cause| {
        one(FieldError::Projection {
            place: place.clone(),
            cause,
        })
    })?;
    observations::check_route(&route, &survey.boundary.crs, &place, remarks).map_err(one)?;
    let degrees_area = outline::areas_of(degrees);
    let area_m2 = geodesic_area(&degrees_area);
    let centre = middle(&degrees_area).filter(|_| area_m2 >= SMALLEST_M2);
    let Some((longitude, latitude)) = centre else {
        return Err(one(FieldError::TooSmall {
            place,
            square_metres: area_m2,
        }));
    };
    let crs = WorkingCrs::centred_on(longitude, latitude);
    let projection_polynomial =
        projection_polynomial(survey, &crs, &degrees_area).map_err(|cause| {
            one(FieldError::Projection {
                place: place.clone(),
                cause,
            })
        })?;
    let plane =
        outline::to_plane(&Geometry::MultiPolygon(degrees_area), &crs).map_err(|cause| {
            one(FieldError::Projection {
                place: place.clone(),
                cause,
            })
        })?;
    let boundary = outline::areas_of(plane);
    let widest = boundary
        .bounding_rect()
        .map_or(0.0, |r| r.width().max(r.height()));
    if widest > WIDEST_M {
        return Err(one(FieldError::TooLarge {
            place,
            kilometres: widest / 1_000.0,
            limit_kilometres: WIDEST_M / 1_000.0,
        }));
    }
    let kept_out = keep_outs(&survey.keep_outs, settings, &crs, remarks)?;
    let shapes: Vec<_> = kept_out.iter().map(|k| k.shape.clone()).collect();
    let workable = keep_out::cut(&boundary, &shapes);
    if workable.0.is_empty() {
        return Err(one(FieldError::NothingLeft {
            place: Place::file(plan_name(settings)).at_key("keep_out"),
        }));
    }
    let workable_m2 = plane_area_on_ellipsoid(&workable, &crs)
        .map_err(|cause| one(FieldError::Projection { place, cause }))?;
    Ok(Ground {
        crs,
        projection_polynomial,
        boundary,
        workable,
        kept_out,
        area_m2,
        workable_m2,
    })
}

/// The projection polynomial of the field, where a table is long enough to be worth one.
fn projection_polynomial(
    survey: &Survey,
    crs: &WorkingCrs,
    degrees: &MultiPolygon<f64>,
) -> Result<Option<ProjectionPolynomial>, super::ProjectionError> {
    let is_worth_it = survey.tables.iter().any(|table| table.x.len() >= MANY);
    match degrees.bounding_rect().filter(|_| is_worth_it) {
        Some(bounds) => ProjectionPolynomial::round(
            crs,
            (
                bounds.min().x,
                bounds.min().y,
                bounds.max().x,
                bounds.max().y,
            ),
        ),
        None => Ok(None),
    }
}

fn plane_area_on_ellipsoid(
    area: &MultiPolygon<f64>,
    crs: &WorkingCrs,
) -> Result<f64, super::ProjectionError> {
    match outline::to_degrees_from_plane(&Geometry::MultiPolygon(area.clone()), crs)? {
        Geometry::MultiPolygon(degrees) => Ok(geodesic_area(&degrees)),
        _ => Ok(0.0),
    }
}

fn keep_outs(
    shapes: &[AreaShape<Geometry<f64>>],
    settings: &Settings,
    crs: &WorkingCrs,
    remarks: &mut Vec<Remark>,
) -> Result<Vec<KeptOut>, Vec<FieldError>> {
    let (mut kept, mut problems) = (Vec::new(), Vec::new());
    for (source, wanted) in shapes.iter().zip(&settings.keep_outs) {
        let place = Place::file(source.file.clone());
        let converted = outline::to_degrees(&source.shape, &source.crs)
            .and_then(|(degrees, route)| Ok((outline::to_plane(&degrees, crs)?, route)));
        match converted {
            Ok((plane, route)) => {
                if let Err(problem) =
                    observations::check_route(&route, &source.crs, &place, remarks)
                {
                    problems.push(problem);
                }
                let shape = keep_out::area(plane, wanted.distance.metres());
                if shape.0.is_empty() {
                    remarks.push(
                        Remark::warning("keep-out-without-area", "this keep-out is a line or point without a distance, so it takes no ground")
                            .at(wanted.place.clone())
                            .help("add distance = \"33 ft\" (or what the setback is) to this keep_out"),
                    );
                }
                kept.push(KeptOut {
                    shape,
                    why: wanted.why.clone(),
                    file: source.file.clone(),
                });
            }
            Err(cause) => problems.push(FieldError::Projection { place, cause }),
        }
    }
    if problems.is_empty() {
        Ok(kept)
    } else {
        Err(problems)
    }
}

fn on_field(
    table: PointTable,
    index: usize,
    ground: &Ground,
    inside: &Inside<'_>,
    settings: &Settings,
    remarks: &mut Vec<Remark>,
) -> Result<Located, FieldError> {
    let names = settings
        .points
        .get(index)
        .map(|p| (p.x.clone(), p.y.clone()))
        .unwrap_or_default();
    let names = (
        names.0.as_deref().unwrap_or("x"),
        names.1.as_deref().unwrap_or("y"),
    );
    // Only a table of which nothing lies on the field is looked at twice, so its coordinates are kept until then.
    let probe = observations::probe(&table);
    let file = table.file.clone();
    match observations::locate(
        table,
        index,
        (&ground.crs, ground.projection_polynomial.as_ref()),
        inside,
        settings.units,
        remarks,
    ) {
        Ok(located)
            if !located.places.x.is_empty()
                && located.places.outside.len() == located.places.x.len() =>
        {
            let swapped = observations::fits_when_swapped(&probe, &ground.crs, inside);
            Err(observations::all_outside(
                &located.places,
                &ground.boundary,
                swapped,
                names,
                settings.units,
            ))
        }
        Err(FieldError::Projection { .. })
            if observations::fits_when_swapped(&probe, &ground.crs, inside) =>
        {
            Err(FieldError::Swapped {
                place: Place::file(file),
                x: names.0.into(),
                y: names.1.into(),
            })
        }
        other => other,
    }
}
