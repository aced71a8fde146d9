//! Signs of longitude and latitude that were left out, found by comparing the points with the boundary.

use crate::provenance::Place;

use super::error::IntakeError;
use super::survey::{PointTable, Survey};
use super::table::coordinates::is_geographic;

/// West, south, east, north.
type Bounds = (f64, f64, f64, f64);

/// How far around the boundary points are taken to belong to it, in degrees (about 5 km).
const NEAR_DEGREES: f64 = 0.05;

/// An error where all points of a table lie at the field only if a sign is turned or the two columns change places.
pub(super) fn check_sign(survey: &Survey) -> Option<IntakeError> {
    if !is_geographic(&survey.boundary.crs) {
        return None;
    }
    let points = survey
        .boundary
        .shape
        .0
        .iter()
        .flat_map(|polygon| polygon.exterior().0.iter());
    let field = points.fold((f64::MAX, f64::MAX, f64::MIN, f64::MIN), |b: Bounds, p| {
        (b.0.min(p.x), b.1.min(p.y), b.2.max(p.x), b.3.max(p.y))
    });
    survey
        .tables
        .iter()
        .filter(|table| is_geographic(&table.crs))
        .find_map(|table| check_table(table, field))
}

fn check_table(table: &PointTable, field: Bounds) -> Option<IntakeError> {
    let share = |turn: fn(f64, f64) -> (f64, f64)| {
        let inside = table
            .x
            .iter()
            .zip(&table.y)
            .filter(|(x, y)| is_near(turn(**x, **y), field))
            .count();
        inside as f64 / table.x.len().max(1) as f64
    };
    if share(|x, y| (x, y)) > 0.0 {
        return None;
    }
    let place = Place::file(std::sync::Arc::clone(&table.file));
    let error = |what: &str, help: &str| {
        Some(IntakeError::Coordinates {
            place: place.clone(),
            what: what.to_owned(),
            help: help.to_owned(),
        })
    };
    if share(|x, y| (-x, y)) > 0.9 {
        return error(
            "the points lie on the other side of the zero meridian: the sign of west is missing",
            "write longitudes west as negative numbers",
        );
    }
    if share(|x, y| (x, -y)) > 0.9 {
        return error(
            "the points lie on the other side of the equator: the sign of south is missing",
            "write latitudes south as negative numbers",
        );
    }
    if share(|x, y| (y, x)) > 0.9 {
        return error(
            "the points lie at the field only if longitude and latitude change places",
            "exchange the columns of x and y in the plan",
        );
    }
    if share(|x, y| (-y, x)) > 0.9 {
        return error(
            "longitude and latitude are swapped, and the sign of west is missing",
            "exchange x and y, and write longitudes west as negative numbers",
        );
    }
    None
}

fn is_near((x, y): (f64, f64), field: Bounds) -> bool {
    x >= field.0 - NEAR_DEGREES
        && y >= field.1 - NEAR_DEGREES
        && x <= field.2 + NEAR_DEGREES
        && y <= field.3 + NEAR_DEGREES
}
