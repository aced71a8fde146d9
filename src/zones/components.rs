//! Layers that say much the same, turned into principal components, so that none of them counts twice.

use nalgebra::{DMatrix, SymmetricEigen};
use serde::Serialize;

use super::standardise::Features;

/// A direction in which the standardised layers vary together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Component {
    /// Share of the variance of the standardised layers that lies along it, 0 to 1.
    pub share: f64,
    /// Part of each layer in it, in the order of the layers; their squares add up to 1, the largest is positive.
    pub loadings: Vec<f64>,
    /// Whether it shapes the zones.
    pub is_kept: bool,
}

/// A component with less than this share of the mean variance of a layer is dropped: a layer that is independent of its twins has a little
/// less than the mean as soon as it is correlated with them by chance.
const LEAST_OF_MEAN: f64 = 0.7;

/// The principal components of a table of standardised layers, the widest first, and the table of those that are kept: the ones with at
/// least 0.7 of the mean variance of a layer. Each is brought to unit variance, so that each counts once.
///
/// # Shape
/// One column per kept component, one value per cell; at least one where there is a layer that varies.
///
/// # Source
/// Jolliffe 2002, "Principal Component Analysis", 2nd edition, section 2.3 (correlation matrix) and 6.1.2 (0.7 of the mean variance), from
/// memory; unit variance is our own choice: the aim is that twins count once.
#[must_use]
pub fn principal(features: &Features) -> (Features, Vec<Component>) {
    let layers = features.layers();
    let covariance = DMatrix::from_fn(layers, layers, |a, b| {
        mean_product(features.column(a.min(b)), features.column(a.max(b)))
    });
    let eigen = SymmetricEigen::new(covariance);
    let mut order: Vec<usize> = (0..layers).collect();
    order.sort_by(|&a, &b| {
        eigen.eigenvalues[b]
            .total_cmp(&eigen.eigenvalues[a])
            .then(a.cmp(&b))
    });
    let total: f64 = eigen.eigenvalues.iter().sum();
    let mean = total / layers.max(1) as f64;
    let mut components = Vec::with_capacity(layers);
    let mut columns = Vec::new();
    for (rank, &at) in order.iter().enumerate() {
        let variance = eigen.eigenvalues[at].max(0.0);
        let loadings = with_a_sign(eigen.eigenvectors.column(at).iter().copied().collect());
        let is_kept = variance > 0.0 && (rank == 0 || variance >= LEAST_OF_MEAN * mean);
        if is_kept {
            columns.push(scores(features, &loadings, variance.sqrt()));
        }
        components.push(Component {
            share: if total > 0.0 { variance / total } else { 0.0 },
            loadings,
            is_kept,
        });
    }
    (Features::as_they_are(columns), components)
}

/// Mean of the products of two columns; those of standardised layers have mean zero.
fn mean_product(a: &[f32], b: &[f32]) -> f64 {
    a.iter()
        .zip(b)
        .map(|(&a, &b)| f64::from(a) * f64::from(b))
        .sum::<f64>()
        / a.len().max(1) as f64
}

/// An eigenvector has no sign of its own: the largest entry becomes positive, of nearly equal ones the first.
fn with_a_sign(loadings: Vec<f64>) -> Vec<f64> {
    let largest = loadings
        .iter()
        .fold(0.0_f64, |most, part| most.max(part.abs()));
    let lead = loadings
        .iter()
        .find(|part| part.abs() >= largest * (1.0 - 1e-9))
        .copied()
        .unwrap_or(0.0);
    if lead < 0.0 {
        loadings.iter().map(|part| -part).collect()
    } else {
        loadings
    }
}

fn scores(features: &Features, loadings: &[f64], deviation: f64) -> Vec<f32> {
    let parts: Vec<(&[f32], f64)> = loadings
        .iter()
        .enumerate()
        .map(|(layer, part)| (features.column(layer), part / deviation))
        .collect();
    (0..features.cells())
        .map(|cell| {
            parts
                .iter()
                .map(|(column, part)| f64::from(column[cell]) * part)
                .sum::<f64>() as f32
        })
        .collect()
}
