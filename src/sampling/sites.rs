use geo::{Contains, Coord, Distance, Euclidean, MultiLineString, MultiPolygon, Point};
use serde::Serialize;
use thiserror::Error;

use super::tour;
use crate::field::{Field, ProjectionError};

/// A place to take a core.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Site {
    /// Order in which to tour, from 1.
    pub order: u32,
    /// Longitude, degrees on WGS 84.
    pub longitude: f64,
    /// Latitude, degrees on WGS 84.
    pub latitude: f64,
    /// Why here, in a few words.
    pub why: String,
}

/// Why no sites can be given.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SamplingError {
    /// More or fewer sites than make sense.
    #[error("{wanted} sites were asked for; ask for 1 to {most}")]
    Count {
        /// What was asked for.
        wanted: usize,
        /// Most sites.
        most: usize,
    },
    /// No map shows where the uncertainty is.
    #[error(
        "no layer of this field has a map, so there is no uncertainty to cut; ask for a first layout (regular, triangular) instead"
    )]
    NoMap,
    /// The field is too narrow for sites away from its edge.
    #[error("no place of the workable area lies {margin_m} m or more from its edge")]
    TooNarrow {
        /// Distance from the edge, metres.
        margin_m: f64,
    },
    /// The sites cannot be brought to degrees.
    #[error(transparent)]
    Projection(#[from] ProjectionError),
}

/// Most sites of one layout.
pub(super) const MOST_SITES: usize = 5_000;
/// Distance of a site from the edge of the workable area, metres (common practice: keep off headlands, roads and fence lines).
pub(super) const MARGIN_M: f64 = 10.0;

/// Refuses a count that makes no sense.
pub(super) fn check_count(wanted: usize) -> Result<(), SamplingError> {
    if (1..=MOST_SITES).contains(&wanted) {
        Ok(())
    } else {
        Err(SamplingError::Count {
            wanted,
            most: MOST_SITES,
        })
    }
}

/// The workable area without its margin, for asking whether a site is good.
pub(super) struct Ground<'a> {
    area: &'a MultiPolygon<f64>,
    edges: MultiLineString<f64>,
}

impl<'a> Ground<'a> {
    pub(super) fn new(area: &'a MultiPolygon<f64>) -> Self {
        let edges = area
            .iter()
            .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
            .cloned()
            .collect();
        Self {
            area,
            edges: MultiLineString::new(edges),
        }
    }

    pub(super) fn is_good(&self, x: f64, y: f64) -> bool {
        self.area.contains(&Coord { x, y })
            && Euclidean.distance(&Point::new(x, y), &self.edges) >= MARGIN_M
    }
}

/// Sites in walking order, from places on the field's plane.
pub(super) fn in_walking_order(
    field: &Field,
    places: &[((f64, f64), String)],
) -> Result<Vec<Site>, SamplingError> {
    let points: Vec<(f64, f64)> = places.iter().map(|p| p.0).collect();
    let order = tour::order(&points);
    let mut degrees: Vec<(f64, f64)> = order.iter().map(|&at| points[at]).collect();
    field.crs.unproject(&mut degrees)?;
    let round = |d: f64| (d * 1e7).round() / 1e7;
    Ok(order
        .iter()
        .zip(&degrees)
        .enumerate()
        .map(|(step, (&at, d))| Site {
            order: step as u32 + 1,
            longitude: round(d.0),
            latitude: round(d.1),
            why: places[at].1.clone(),
        })
        .collect())
}
