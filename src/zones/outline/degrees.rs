//! The drawing in degrees: every vertex is unprojected and rounded once, for all zones that share it.

use std::collections::BTreeMap;

use geo::MultiPolygon;

use super::drawing::Drawing;
use super::faces::{self, Limits};
use super::lattice::Point;
use super::noding::{Polyline, node};
use super::{geometry, rings};
use crate::field::Field;
use crate::zones::error::ZoneError;

/// Rounded degrees per degree: 8 decimals, about a millimetre.
const PER_DEGREE: f64 = 1e8;
/// A face that rounding made thinner than this (about a centimetre) is given to its neighbour.
const THINNEST: f64 = 10.0;

/// The polygons of each label in degrees.
pub(super) fn draw(
    drawing: &Drawing,
    metres: impl Fn(Point) -> (f64, f64),
    field: &Field,
) -> Result<BTreeMap<u8, MultiPolygon<f64>>, ZoneError> {
    let mut places: Vec<(f64, f64)> = drawing.points.iter().map(|&point| metres(point)).collect();
    field.crs.unproject_outline(&mut places)?;
    let rounded: Vec<Point> = places
        .iter()
        .map(|&(longitude, latitude)| Point::nearest(longitude, latitude, PER_DEGREE))
        .collect();
    let mut polylines: Vec<Polyline> = drawing
        .edges
        .iter()
        .map(|edge| Polyline {
            points: vec![rounded[edge.a as usize], rounded[edge.b as usize]],
            left: edge.left,
            right: edge.right,
            is_outline: edge.is_outline,
        })
        .collect();
    if !node(&mut polylines, 0) {
        return Err(ZoneError::NotNoded);
    }
    let mut drawn = Drawing::new(&polylines);
    let cycles = drawn.cycles();
    let found = faces::find(&drawn, &cycles);
    let labels = found.merged(
        &drawn,
        &cycles,
        &Limits {
            smallest: 0.0,
            thinnest: THINNEST,
            centres: &[],
        },
    );
    found.write(&labels, &mut drawn, &cycles);
    let polygons = rings::polygons(&drawn);
    Ok(polygons
        .iter()
        .map(|(&label, polygons)| (label, geometry(polygons, |point| point.place(PER_DEGREE))))
        .collect())
}
