//! How sure the mean of a layer over a part of the field is, from how alike its values are by their distance.

use nalgebra::{Matrix3, Vector3};
use statrs::distribution::{ContinuousCDF, StudentsT};

use super::covariance::Covariance;
use super::inverse_distance::Power;
use super::neighbours::Neighbour;
use crate::field::Grid;

/// With more places than this the plain rule is near enough, and this one dear.
pub(super) const MOST_PLACES: usize = 400;
/// Cells that stand for a part of the field.
const CELLS: usize = 24;
/// Two-sided 90 % of a normal distribution.
const NORMAL: f64 = 1.644_853_626_951_472_7;

/// What the error of a mean follows from.
#[derive(Debug, Clone, PartialEq)]
pub struct MeanError {
    /// Places, metres.
    places: Vec<(f64, f64)>,
    /// How alike they are; about a plane where one is taken out.
    covariance: Covariance,
    /// How the map weighs them; `None` for one value for the whole field.
    map: Option<Weighing>,
    /// Whether some places stand in pairs or heaps.
    pub(super) is_clustered: bool,
    /// What the error is made larger by, since the covariance is an estimate.
    widening: f64,
    /// Semivariances of each place and those before it, one run of them after another: every part of the field asks for them.
    among: Vec<f64>,
}

/// How a map weighs its places.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Weighing {
    pub power: Power,
    pub count: usize,
    pub is_tilted: bool,
}

impl MeanError {
    /// Of a layer's places.
    pub(super) fn new(
        places: Vec<(f64, f64)>,
        covariance: Covariance,
        map: Option<Weighing>,
    ) -> Self {
        let mut made = Self {
            places,
            covariance,
            map,
            is_clustered: false,
            widening: 1.0,
            among: Vec::new(),
        };
        let places = made.places.iter().enumerate();
        let with_those_before = places.flat_map(|(i, a)| {
            let before = made.places[..i].iter();
            before.map(|b| made.between(*a, *b))
        });
        made.among = with_those_before.collect();
        made.widening = made.student_over_normal();
        made
    }

    /// Standard error of the mean over some cells; 1.645 times it is half a 90 % interval. `None` without cells.
    ///
    /// # Source
    /// Variance of the error of a weighted mean against the mean of an area, `2 sum(l g(i,A)) - sum(l l g(i,j)) - g(A,A)`:
    /// Journel, A.G. and C.J. Huijbregts. 1978. Mining Geostatistics. Academic Press (from memory). The variance itself is known from
    /// few pieces of ground that are not alike, so it is made larger as Student's t distribution asks for; their number is the
    /// variance of a place over that of the mean of all (own).
    pub(super) fn of(&self, grid: &Grid, cells: &[usize]) -> Option<f64> {
        let points: Vec<(f64, f64)> = spread_out(cells)
            .filter_map(|slot| Some(grid.centre(*grid.cells.get(slot)?)))
            .collect();
        if points.is_empty() || self.places.len() < 3 {
            return None;
        }
        let n = points.len() as f64;
        let weights = self.weights(&points);
        let (mut to_area, mut among) = (0.0, 0.0);
        for (i, (weight, place)) in weights.iter().zip(&self.places).enumerate() {
            if *weight == 0.0 {
                continue;
            }
            let sum: f64 = points.iter().map(|at| self.between(*place, *at)).sum();
            to_area += weight * sum / n;
            let others = weights[..i].iter().zip(self.with_those_before(i));
            among += 2.0 * weight * others.map(|(w, apart)| w * apart).sum::<f64>();
        }
        let mut within = 0.0;
        for (i, a) in points.iter().enumerate() {
            within += 2.0
                * points[..i]
                    .iter()
                    .map(|b| self.between(*a, *b))
                    .sum::<f64>();
        }
        // A cell is a small area, not a point: a second place in it differs by the nugget.
        within = within / (n * n) + self.covariance.nugget / n;
        let variance = (2.0 * to_area - among - within).max(0.0);
        Some(variance.sqrt() * self.widening)
    }

    /// The error of the mean over some cells as a share of that of a cell by itself, 0 to 1: what the errors of the cells have in common.
    pub(super) fn share_left(&self, grid: &Grid, cells: &[usize]) -> Option<f64> {
        let mean = self.of(grid, cells)?;
        let singly: Vec<f64> = spread_out(cells)
            .filter_map(|slot| self.of(grid, &[slot]))
            .collect();
        let single = singly.iter().sum::<f64>() / singly.len() as f64;
        (single > 0.0).then(|| (mean / single).min(1.0))
    }

    /// Semivariances of a place and each of those before it.
    fn with_those_before(&self, place: usize) -> &[f64] {
        let first = place * place.saturating_sub(1) / 2;
        &self.among[first..first + place]
    }

    fn between(&self, a: (f64, f64), b: (f64, f64)) -> f64 {
        let distance = (a.0 - b.0).hypot(a.1 - b.1);
        self.covariance.semivariance(distance)
    }

    /// Student's t over the normal, for as many pieces of ground as the places are worth.
    fn student_over_normal(&self) -> f64 {
        let n = self.places.len() as f64;
        let of_place = |place: usize| self.with_those_before(place).iter().sum::<f64>();
        let pairs: f64 = (0..self.places.len()).map(of_place).sum();
        let sill = self.covariance.sill();
        let of_mean = sill - 2.0 * pairs / (n * n);
        let pieces = (sill / of_mean.max(f64::MIN_POSITIVE)).min(n);
        let law = StudentsT::new(0.0, 1.0, (pieces - 1.0).max(1.0));
        law.map_or(1.0, |law| law.inverse_cdf(0.95) / NORMAL)
    }

    /// Weight of each place in the mean over some points.
    fn weights(&self, points: &[(f64, f64)]) -> Vec<f64> {
        let n = self.places.len();
        let Some(map) = self.map else {
            return vec![1.0 / n as f64; n];
        };
        let mut all = vec![0.0; n];
        let mut weights = Vec::new();
        for point in points {
            let near = nearest(&self.places, *point, map.count);
            map.power.weigh(&near, map.count, &mut weights);
            let sum: f64 = weights.iter().sum::<f64>() * points.len() as f64;
            for (weight, near) in weights.iter().zip(&near) {
                all[near.site as usize] += weight / sum;
            }
        }
        if map.is_tilted {
            self.tilt(points, &mut all);
        }
        all
    }

    /// Adds what the plane takes from each place.
    fn tilt(&self, points: &[(f64, f64)], weights: &mut [f64]) {
        let (x, y) = self.places[0];
        let row = |at: &(f64, f64)| Vector3::new(1.0, at.0 - x, at.1 - y);
        let mut gram = Matrix3::zeros();
        let mut off = Vector3::zeros();
        for (place, weight) in self.places.iter().zip(&*weights) {
            gram += row(place) * row(place).transpose();
            off -= row(place) * *weight;
        }
        for point in points {
            off += row(point) / points.len() as f64;
        }
        if let Some(inverse) = gram.try_inverse() {
            let terms = inverse * off;
            for (place, weight) in self.places.iter().zip(weights) {
                *weight += row(place).dot(&terms);
            }
        }
    }
}

/// Up to [`CELLS`] cells that stand for all: one from each of as many stretches of their order, at a part of the stretch that differs
/// from one to the next. Cells are in the order of rows: one part for all could fall into few columns.
fn spread_out(cells: &[usize]) -> impl Iterator<Item = usize> {
    /// Parts of the golden section lie far apart from each other, however many there are.
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let wanted = cells.len().min(CELLS);
    (0..wanted).map(move |i| {
        let part = (i as f64 * GOLDEN).fract();
        let at = (i as f64 + part) * cells.len() as f64 / wanted as f64;
        cells[(at as usize).min(cells.len() - 1)]
    })
}

/// The nearest places by rising distance, and those that tie with the last.
fn nearest(places: &[(f64, f64)], at: (f64, f64), count: usize) -> Vec<Neighbour> {
    let mut near: Vec<Neighbour> = (0..)
        .zip(places)
        .map(|(site, (x, y))| Neighbour {
            site,
            squared: (x - at.0).powi(2) + (y - at.1).powi(2),
        })
        .collect();
    let order =
        |a: &Neighbour, b: &Neighbour| a.squared.total_cmp(&b.squared).then(a.site.cmp(&b.site));
    let last = count.saturating_sub(1);
    if last < near.len() {
        let (_, last, _) = near.select_nth_unstable_by(last, order);
        let last = last.squared * (1.0 + 1e-10);
        near.retain(|n| n.squared <= last);
    }
    near.sort_unstable_by(order);
    near
}

#[cfg(test)]
#[path = "mean_error_tests.rs"]
mod tests;
