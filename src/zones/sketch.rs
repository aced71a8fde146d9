//! A quick zoning of a few cells, for every count from one: good enough to compare counts by. The cells are parted step by step,
//! each time the part that varies most across its principal axis, and each count is then settled by k-means from there. Nothing is
//! drawn at random, so the same maps give the same parts whatever the seed.

use nalgebra::{DMatrix, DVector, SymmetricEigen};

use super::components;
use super::k_means::k_means_from;
use super::layers;
use super::standardise::Features;
use crate::plan::ZoneSettings;
use crate::surface::Surfaces;

/// Cells as the zoning sees them.
pub struct Sketch {
    features: Features,
}

impl Sketch {
    /// Of maps that are drawn on a few cells. `None` where no layer may shape the zones.
    #[must_use]
    pub fn of(surfaces: &Surfaces, settings: &ZoneSettings) -> Option<Self> {
        let layers = layers::choose(surfaces, settings, &mut Vec::new());
        let columns: Vec<(&[f32], f64)> = layers.iter().map(|l| (l.values, l.weight)).collect();
        let standardised = Features::standardised(&columns);
        if standardised.layers() == 0 {
            return None;
        }
        let features = if settings.components {
            components::principal(&standardised).0
        } else {
            standardised
        };
        Some(Self { features })
    }

    /// The zone of each cell for one zone, for two, and so on; fewer where fewer cells differ.
    ///
    /// # Source
    /// Parting along the principal axis as a start: Su and Dy 2007, "In search of deterministic methods for initializing k-means
    /// and Gaussian mixture clustering", Intelligent Data Analysis 11:319 (from memory).
    #[must_use]
    pub fn parted(&self, most: usize) -> Vec<Vec<u8>> {
        let all = (0..self.features.cells()).collect();
        let mut parts = vec![Part::new(&self.features, all)];
        let mut found = vec![vec![0; self.features.cells()]];
        while parts.len() < most {
            let widest = (0..parts.len()).max_by(|&a, &b| {
                parts[a]
                    .squares
                    .total_cmp(&parts[b].squares)
                    .then(b.cmp(&a))
            });
            let Some((low, high)) = widest.and_then(|at| parts[at].halves(&self.features)) else {
                break;
            };
            parts[widest.unwrap_or_default()] = low;
            parts.push(high);
            let start = parts.iter().flat_map(|part| part.mean.iter());
            let start = start.map(|value| *value as f32).collect();
            let clusters = k_means_from(&self.features, start);
            if clusters.centres.len() < parts.len() {
                break;
            }
            found.push(clusters.labels);
        }
        found
    }
}

/// Some cells with their mean and their squared distances from it.
struct Part {
    cells: Vec<usize>,
    mean: Vec<f64>,
    squares: f64,
}

impl Part {
    fn new(features: &Features, cells: Vec<usize>) -> Self {
        let n = cells.len().max(1) as f64;
        let of_layer = |layer: usize| {
            let column = features.column(layer);
            cells
                .iter()
                .map(|&cell| f64::from(column[cell]))
                .sum::<f64>()
                / n
        };
        let mean: Vec<f64> = (0..features.layers()).map(of_layer).collect();
        let squares = (0..features.layers())
            .map(|layer| {
                let column = features.column(layer);
                let off = |&cell: &usize| (f64::from(column[cell]) - mean[layer]).powi(2);
                cells.iter().map(off).sum::<f64>()
            })
            .sum();
        Self {
            cells,
            mean,
            squares,
        }
    }

    /// Both sides of the mean along the principal axis; `None` where the cells do not differ.
    fn halves(&self, features: &Features) -> Option<(Self, Self)> {
        let layers = features.layers();
        let mut covariance = DMatrix::zeros(layers, layers);
        let off = |cell: usize| {
            DVector::from_fn(layers, |layer, _| {
                f64::from(features.column(layer)[cell]) - self.mean[layer]
            })
        };
        for &cell in &self.cells {
            let row = off(cell);
            covariance.ger(1.0, &row, &row, 1.0);
        }
        let eigen = SymmetricEigen::new(covariance);
        let widest = eigen.eigenvalues.imax();
        let mut axis = eigen.eigenvectors.column(widest).into_owned();
        // The sign of an axis is free: the layer with the largest part in it rises.
        if axis[axis.iamax()] < 0.0 {
            axis.neg_mut();
        }
        let (low, high): (Vec<usize>, Vec<usize>) = self
            .cells
            .iter()
            .partition(|&&cell| off(cell).dot(&axis) < 0.0);
        (!low.is_empty() && !high.is_empty())
            .then(|| (Self::new(features, low), Self::new(features, high)))
    }
}
