//! The plane that is taken out of a layer before inverse distance, and put back into its map.

use nalgebra::{Matrix3, Vector3};

use super::sites::Sites;
use crate::field::Grid;

/// `constant + east x + north y`, and the range of the observations that it was fitted to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Plane {
    centre: (f64, f64),
    terms: Vector3<f64>,
    low: f64,
    high: f64,
}

impl Plane {
    /// Least squares over all sites. `None` on a straight transect. `values` go by observation.
    pub(super) fn fit(sites: &Sites, values: &[f64]) -> Option<Self> {
        Self::through((0..sites.len()).map(|site| {
            let value = values[sites.source[site] as usize];
            ((sites.x[site], sites.y[site]), value)
        }))
    }

    /// Least squares through points with a value each. `None` on a straight transect.
    pub(super) fn through(points: impl Iterator<Item = ((f64, f64), f64)> + Clone) -> Option<Self> {
        let n = points.clone().count() as f64;
        let centre = (
            points.clone().map(|((x, _), _)| x).sum::<f64>() / n,
            points.clone().map(|((_, y), _)| y).sum::<f64>() / n,
        );
        let (mut gram, mut moments) = (Matrix3::zeros(), Vector3::zeros());
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for ((x, y), value) in points {
            let row = Vector3::new(1.0, x - centre.0, y - centre.1);
            gram += row * row.transpose();
            moments += row * value;
            (low, high) = (low.min(value), high.max(value));
        }
        let terms = gram.try_inverse()? * moments;
        terms.iter().all(|term| term.is_finite()).then_some(Self {
            centre,
            terms,
            low,
            high,
        })
    }

    /// The plane at a point.
    pub(super) fn at(&self, x: f64, y: f64) -> f64 {
        self.terms[0] + self.terms[1] * (x - self.centre.0) + self.terms[2] * (y - self.centre.1)
    }

    /// What the plane leaves of the values, by observation; others stay as they are.
    pub(super) fn taken_from(&self, sites: &Sites, values: &[f64]) -> Vec<f64> {
        let mut left = values.to_vec();
        for (site, &observation) in sites.source.iter().enumerate() {
            left[observation as usize] -= self.at(sites.x[site], sites.y[site]);
        }
        left
    }

    /// Puts the plane back into a map, which stays within the range of the observations: a slope says nothing of what lies
    /// beyond them.
    pub(super) fn put_back(&self, grid: &Grid, map: &mut [f32]) {
        for (value, &cell) in map.iter_mut().zip(&grid.cells) {
            let (x, y) = grid.centre(cell);
            *value = self.added_to(f64::from(*value), x, y) as f32;
        }
    }

    /// The plane added to what it left at a point, within the range of the observations.
    pub(super) fn added_to(&self, left: f64, x: f64, y: f64) -> f64 {
        (left + self.at(x, y)).clamp(self.low, self.high)
    }
}

#[cfg(test)]
#[path = "plane_tests.rs"]
mod tests;
