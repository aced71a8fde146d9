//! The uncertainty of a map at a place: small near cores, large away from them, as large on average as leave-one-out finds.
//!
//! The error variance of a weighted mean follows from the variogram, but it takes a sum over all pairs of neighbours.
//! Here it is worked out at some cells and then told for every cell by a curve in one number, the harmonic mean
//! distance to the neighbours, that falls off the weights anyway.

use super::inverse_distance::{AT_THE_PLACE, Power};
use super::leave_one_out::Prediction;
use super::left_out::LeftOut;
use super::neighbours::{Neighbour, Neighbours};
use super::nonnegative_fit::{NonnegativeFit, Row};
use super::sites::Sites;
use super::standard_error_curve::StandardErrorCurve;
use super::variogram::Variogram;
use crate::field::Grid;

/// Cells and places at which the error variance is worked out in full, where few neighbours make that cheap.
const SAMPLES: usize = 128;
/// Cells whose distance to the nearest core is measured.
const MEASURED_CELLS: usize = 1_000;
/// Sums over pairs of neighbours that are paid for per layer.
const MOST_PAIRS: usize = 100_000;
/// Neighbours beyond this, by distance, add nothing worth their pairs.
const MOST_NEIGHBOURS: usize = 100;
/// Distances at which half of the rise is reached: so many are tried, a factor of 1.6 between them.
const HALFWAYS: usize = 14;

/// With n places the uncertainty is made larger by the share `WIDENING / (n - 1)`: few errors measure it badly (that alone asks for 0.93), and a map
/// of few cores is only drawn where its errors happened to be small. Own rule, from `examples/surface_coverage.rs`.
const WIDENING: f64 = 4.0;

/// Fits the curve of a layer at cells of the grid, then scales it so that leave-one-out finds it right.
///
/// # Source
/// Error variance of a weighted mean, `2 sum(l g(0,i)) - sum(l l g(i,j))`: Journel, A.G. and C.J. Huijbregts. 1978. Mining
/// Geostatistics. Academic Press (from memory). The curve, the scaling and the widening for few places: own, held to a
/// simulation study (`examples/surface_coverage.rs`).
pub(super) fn fit(
    cells: &SampledCells,
    left_out: &LeftOut,
    prediction: &Prediction,
    layer: &LayerModel<'_>,
) -> StandardErrorCurve {
    let n = prediction.observed.len() as f64;
    let mean_square = prediction.errors().iter().map(|e| e * e).sum::<f64>() / n;
    let widened = mean_square * (1.0 + WIDENING / (n - 1.0)).powi(2);
    let Some(variogram) = layer.variogram else {
        return StandardErrorCurve::constant(widened);
    };
    let samples = samples_for(layer.count);
    let rows: Vec<Row> = spread(cells.len(), samples)
        .map(|cell| {
            let near = cells.near(cell);
            (
                1.0,
                harmonic_squared(near, layer.count).sqrt(),
                layer.variance(&variogram, near),
            )
        })
        .collect();
    let far = rows.iter().fold(0.0_f64, |far, row| far.max(row.1));
    let halfways = (0..HALFWAYS).map(|i| far / 50.0 * 1.6_f64.powi(i as i32));
    let Some(curve) = NonnegativeFit::fit(&rows, halfways, |u, halfway| u / (u + halfway)) else {
        return StandardErrorCurve::constant(widened);
    };
    let (mut expected, mut seen) = (0.0, 0.0);
    for place in spread(left_out.len(), samples) {
        expected += layer.variance(&variogram, left_out.matched(place));
        seen += 1.0;
    }
    let expected = expected / seen;
    if !(expected > 0.0 && curve.constant + curve.rise > 0.0) {
        return StandardErrorCurve::constant(widened);
    }
    let scale = widened / expected;
    StandardErrorCurve {
        at_core: curve.constant * scale,
        rise: curve.rise * scale,
        halfway: curve.scale,
    }
}

/// `k / sum(d^-2)` of the `count` nearest, m²; 0 at a place with an observation.
pub(super) fn harmonic_squared(near: &[Neighbour], count: usize) -> f64 {
    let count = count.min(near.len());
    if near
        .first()
        .is_none_or(|nearest| nearest.squared <= AT_THE_PLACE)
    {
        return 0.0;
    }
    count as f64 / near[..count].iter().map(|n| 1.0 / n.squared).sum::<f64>()
}

fn samples_for(count: usize) -> usize {
    let pairs = count.min(MOST_NEIGHBOURS).pow(2) / 2 + 1;
    (MOST_PAIRS / pairs).clamp(32, SAMPLES)
}

/// So many numbers below a length, evenly spread.
fn spread(length: usize, wanted: usize) -> impl Iterator<Item = usize> {
    let wanted = wanted.min(length);
    (0..wanted).map(move |i| (2 * i + 1) * length / (2 * wanted))
}

/// What the error variance of a layer depends on.
pub(super) struct LayerModel<'a> {
    /// The sites.
    pub sites: &'a Sites,
    /// How unlike two observations are.
    pub variogram: Option<Variogram>,
    /// Power of the inverse distance.
    pub power: Power,
    /// How many nearest sites.
    pub count: usize,
}

impl LayerModel<'_> {
    /// Error variance of the weighted mean of neighbours, by rising distance, as a forecast of one more observation.
    fn variance(&self, variogram: &Variogram, near: &[Neighbour]) -> f64 {
        let mut weights = Vec::new();
        self.power
            .weigh(near, self.count.min(MOST_NEIGHBOURS), &mut weights);
        let all: f64 = weights.iter().sum();
        let (mut to_place, mut among) = (0.0, 0.0);
        for (i, (weight, neighbour)) in weights.iter().zip(near).enumerate() {
            to_place += weight * variogram.at(neighbour.squared.sqrt().max(f64::MIN_POSITIVE));
            let (x, y) = (
                self.sites.x[neighbour.site as usize],
                self.sites.y[neighbour.site as usize],
            );
            for (other_weight, other) in weights[..i].iter().zip(near) {
                let distance = (self.sites.x[other.site as usize] - x)
                    .hypot(self.sites.y[other.site as usize] - y);
                among += 2.0 * weight * other_weight * variogram.at(distance);
            }
        }
        2.0 * to_place / all - among / (all * all)
    }
}

/// Squared distances of an even choice of cells to their nearest site, m². None where there are fewer cells than places: so coarse a
/// map does not say how far the field reaches from its cores.
pub(super) fn distances(neighbours: &Neighbours<'_>, grid: &Grid) -> Vec<f64> {
    if grid.cells.len() < neighbours.sites().places() {
        return Vec::new();
    }
    let mut search = neighbours.search(1);
    let mut found = Vec::new();
    spread(grid.cells.len(), MEASURED_CELLS)
        .filter_map(|slot| {
            let (x, y) = grid.centre(grid.cells[slot]);
            search.nearest(x, y, 1, &mut found);
            found.first().map(|nearest| nearest.squared)
        })
        .collect()
}

/// Some cells of the grid with their neighbours, shared by the layers of a group.
pub(super) struct SampledCells {
    near: Vec<Vec<Neighbour>>,
}

impl SampledCells {
    /// Cells spread over the grid.
    pub(super) fn new(neighbours: &Neighbours<'_>, grid: &Grid, count: usize) -> Self {
        let mut search = neighbours.search(count);
        let near = spread(grid.cells.len(), SAMPLES)
            .map(|slot| {
                let (x, y) = grid.centre(grid.cells[slot]);
                let mut found = Vec::new();
                search.nearest(x, y, count, &mut found);
                found
            })
            .collect();
        Self { near }
    }

    fn len(&self) -> usize {
        self.near.len()
    }

    fn near(&self, n: usize) -> &[Neighbour] {
        &self.near[n]
    }
}

#[cfg(test)]
#[path = "standard_error_tests.rs"]
mod tests;
