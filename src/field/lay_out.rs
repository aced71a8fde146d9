use super::ground::{self, Ground};
use super::inside::Inside;
use super::observations::{self, Located};
use super::{Field, FieldError, Grid};
use crate::intake::{PointTable, Survey};
use crate::plan::Settings;
use crate::provenance::Place;
use crate::remark::Remark;

/// Fewest observations that anything can be said from.
const LEAST_POINTS: usize = 3;

/// Lays the survey on a metric plane centred on the field.
///
/// # Errors
/// All problems found with the coordinate systems, the boundary, the keep-outs, the grid and the places of the points.
pub fn lay_out(survey: Survey, settings: &Settings) -> Result<Field, Vec<FieldError>> {
    let mut remarks = Vec::new();
    let ground = ground::lay(&survey, settings, &mut remarks)?;
    let grid = Grid::over(
        &ground.workable,
        settings.cell.metres(),
        &Place::file(ground::plan_name(settings)).at_key("grid.cell"),
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
            place: Place::file(ground::plan_name(settings)).at_key("points"),
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
        remarks,
    })
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
