//! How alike the values of two places are by their distance, by restricted maximum likelihood: unlike a variogram it does not take the
//! pairs of one heap of cores for as many pieces of news.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use rayon::prelude::*;

use super::left_out::LeftOut;
use super::sites::Sites;

/// Most places that it is fitted to; of more, so many spread over the field.
const MOST_FITTED: usize = 120;
/// Ranges that are tried, as shares of the diagonal of the places' rectangle.
const RANGES: [f64; 5] = [0.035, 0.07, 0.14, 0.28, 0.56];
/// Shares of the nugget that are tried.
const NUGGETS: [f64; 6] = [0.0, 0.1, 0.25, 0.5, 0.75, 1.0];
/// Share of the squares below which nothing but rounding is left.
const ROUNDING: f64 = 1e-12;
/// Keeps a matrix of near twins positive.
const RIDGE: f64 = 1e-9;

/// An exponential covariance with a nugget.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Covariance {
    /// Variance of what single observations add.
    pub nugget: f64,
    /// Variance of what neighbours share.
    pub shared: f64,
    /// Distance in metres at which 1/e of it is left.
    pub range: f64,
}

impl Covariance {
    /// Half the mean squared difference of two observations so far apart; 0 at 0.
    pub(super) fn semivariance(&self, distance: f64) -> f64 {
        if distance > 0.0 {
            self.nugget + self.shared * (1.0 - (-distance / self.range).exp())
        } else {
            0.0
        }
    }

    /// Variance of an observation.
    pub(super) fn sill(&self) -> f64 {
        self.nugget + self.shared
    }
}

/// Fits layers, each by its values by observation and whether they lie on a plane; the first of equally likely ones. `None` where there are too few places.
///
/// # Source
/// Patterson, H.D. and R. Thompson. 1971. Recovery of inter-block information when block sizes are unequal. Biometrika 58:545-554 (from
/// memory; held to an independent script in `tests/reference/interpolation`). The table of ranges and nuggets: own.
pub(super) fn fit(
    sites: &Sites,
    left_out: &LeftOut,
    layers: &[(&[f64], bool)],
) -> Vec<Option<Covariance>> {
    let n = left_out.len().min(MOST_FITTED);
    let chosen: Vec<usize> = (0..n)
        .map(|i| left_out.sites[(2 * i + 1) * left_out.len() / (2 * n)] as usize)
        .collect();
    let places: Vec<(f64, f64)> = chosen.iter().map(|&s| (sites.x[s], sites.y[s])).collect();
    let of_layer = |(layer, is_tilted): &(&[f64], bool)| {
        let value = |&site: &usize| layer[sites.source[site] as usize];
        (chosen.iter().map(value).collect(), *is_tilted)
    };
    let values: Vec<(Vec<f64>, bool)> = layers.iter().map(of_layer).collect();
    most_likely(&places, &values)
}

/// `values` by place, each with whether they lie on a plane.
fn most_likely(places: &[(f64, f64)], values: &[(Vec<f64>, bool)]) -> Vec<Option<Covariance>> {
    let trend = Trend::over(places);
    let n = places.len();
    let distances = DMatrix::from_fn(n, n, |i, j| {
        (places[i].0 - places[j].0).hypot(places[i].1 - places[j].1)
    });
    // Without a shared part every range says the same.
    let is_tried = |share: f64, nugget: f64| nugget < 1.0 || share == RANGES[0];
    let by_range = RANGES.par_iter().flat_map_iter(|&share| {
        let range = share * trend.diagonal;
        let alike = distances.map(|distance| (-distance / range).exp());
        let nuggets = NUGGETS.into_iter().filter(move |n| is_tried(share, *n));
        let (trend, values) = (&trend, values);
        nuggets.filter_map(move |nugget| {
            let root = root(&alike, nugget)?;
            let of_trend = trend.through(&root);
            let of_layer = |(values, is_tilted): &(Vec<f64>, bool)| {
                let (likelihood, variance) = of_trend.likelihood(&root, values, *is_tilted)?;
                let covariance = Covariance {
                    nugget: variance * nugget,
                    shared: variance * (1.0 - nugget),
                    range,
                };
                Some((likelihood, covariance))
            };
            Some(values.iter().map(of_layer).collect::<Vec<_>>())
        })
    });
    let tried: Vec<Vec<Option<(f64, Covariance)>>> = by_range.collect();
    let mut best: Vec<Option<(f64, Covariance)>> = vec![None; values.len()];
    for of_layers in tried {
        for (found, best) in of_layers.into_iter().zip(&mut best) {
            if let Some((likelihood, covariance)) = found
                && best.is_none_or(|(most, _)| likelihood > most + 1e-9)
            {
                *best = Some((likelihood, covariance));
            }
        }
    }
    best.into_iter().map(|best| Some(best?.1)).collect()
}

/// From how alike any two places would be without a nugget.
fn root(alike: &DMatrix<f64>, nugget: f64) -> Option<Cholesky<f64, Dyn>> {
    let matrix = DMatrix::from_fn(alike.nrows(), alike.ncols(), |i, j| {
        if i == j {
            1.0 + RIDGE
        } else {
            (1.0 - nugget) * alike[(i, j)]
        }
    });
    matrix.cholesky()
}

/// A constant and a plane at the places.
struct Trend {
    columns: DMatrix<f64>,
    diagonal: f64,
}

impl Trend {
    fn over(places: &[(f64, f64)]) -> Self {
        let ends = |of: &dyn Fn(&(f64, f64)) -> f64| {
            let ends = (f64::INFINITY, f64::NEG_INFINITY);
            let numbers = places.iter().map(of);
            numbers.fold(ends, |(low, high), at| (low.min(at), high.max(at)))
        };
        let ((west, east), (south, north)) = (ends(&|at| at.0), ends(&|at| at.1));
        let diagonal = (east - west).hypot(north - south).max(f64::MIN_POSITIVE);
        let columns = DMatrix::from_fn(places.len(), 3, |row, column| match column {
            0 => 1.0,
            1 => (places[row].0 - west) / diagonal,
            _ => (places[row].1 - south) / diagonal,
        });
        Self { columns, diagonal }
    }

    fn through(&self, root: &Cholesky<f64, Dyn>) -> Whitened {
        let lower = root.l_dirty();
        let columns = lower
            .solve_lower_triangular(&self.columns)
            .unwrap_or_else(|| self.columns.clone());
        let determinant = (0..lower.nrows()).map(|i| 2.0 * lower[(i, i)].ln()).sum();
        Whitened {
            columns,
            determinant,
        }
    }
}

/// The trend with the covariance taken out, and the logarithm of that covariance's determinant.
struct Whitened {
    columns: DMatrix<f64>,
    determinant: f64,
}

impl Whitened {
    /// Restricted log likelihood, up to a constant, at its most likely variance, which comes with it.
    fn likelihood(
        &self,
        root: &Cholesky<f64, Dyn>,
        values: &[f64],
        is_tilted: bool,
    ) -> Option<(f64, f64)> {
        let terms = if is_tilted { 3 } else { 1 };
        let free = values.len().checked_sub(terms).filter(|free| *free > 0)? as f64;
        let values = DVector::from_column_slice(values);
        let values = root.l_dirty().solve_lower_triangular(&values)?;
        let columns = self.columns.columns(0, terms);
        let gram = (columns.transpose() * columns).cholesky()?;
        let moments = columns.transpose() * &values;
        let explained = moments.dot(&gram.solve(&moments));
        let variance = (values.norm_squared() - explained) / free;
        // What rounding leaves of equal values, or of values on a plane, is no scatter.
        let is_scatter = variance * free > ROUNDING * values.norm_squared();
        let of_gram: f64 = (0..terms).map(|i| 2.0 * gram.l_dirty()[(i, i)].ln()).sum();
        let likelihood = -0.5 * (free * variance.ln() + self.determinant + of_gram);
        (is_scatter && likelihood.is_finite()).then_some((likelihood, variance))
    }
}

#[cfg(test)]
#[path = "covariance_tests.rs"]
mod tests;
