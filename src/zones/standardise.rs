//! Layers brought to one scale, so that none outweighs another by its unit.

use rayon::prelude::*;

/// Cells by layers: the table that the clustering works on.
///
/// # Shape
/// One column per layer, each with one value per cell. Single precision: the values come from maps whose own error is
/// many orders larger, and half the memory is twice the speed.
#[derive(Debug, Clone, PartialEq)]
pub struct Features {
    columns: Vec<Vec<f32>>,
    cells: usize,
}

impl Features {
    /// Columns as they are, already on one scale; each is cut to the shortest one's length.
    #[must_use]
    pub fn as_they_are(mut columns: Vec<Vec<f32>>) -> Self {
        let cells = columns.iter().map(Vec::len).min().unwrap_or(0);
        for column in &mut columns {
            column.truncate(cells);
        }
        Self { columns, cells }
    }

    /// Each layer minus its mean, divided by its **population** standard deviation, times the root of its weight (so
    /// that the weight multiplies the squared distance). A layer that does not vary becomes all zeros.
    #[must_use]
    pub fn standardised(layers: &[(&[f32], f64)]) -> Self {
        Self::as_they_are(
            layers
                .par_iter()
                .map(|(values, weight)| standardise(values, *weight))
                .collect(),
        )
    }

    /// Number of cells.
    #[must_use]
    pub fn cells(&self) -> usize {
        self.cells
    }

    /// Number of layers.
    #[must_use]
    pub fn layers(&self) -> usize {
        self.columns.len()
    }

    /// The values of one layer.
    #[must_use]
    pub fn column(&self, layer: usize) -> &[f32] {
        &self.columns[layer]
    }

    /// The table of some of the cells only.
    #[must_use]
    pub fn sample(&self, cells: &[u32]) -> Self {
        let take = |column: &Vec<f32>| cells.iter().map(|&cell| column[cell as usize]).collect();
        Self {
            columns: self.columns.iter().map(take).collect(),
            cells: cells.len(),
        }
    }

    /// Sum of squared distances to the mean of all cells: what clusters can explain.
    #[must_use]
    pub fn total_inertia(&self) -> f64 {
        self.columns
            .iter()
            .map(|column| {
                let (mean, deviation) = mean_and_deviation(column);
                if mean.is_finite() {
                    deviation * deviation * self.cells as f64
                } else {
                    0.0
                }
            })
            .sum()
    }
}

fn standardise(values: &[f32], weight: f64) -> Vec<f32> {
    let (mean, deviation) = mean_and_deviation(values);
    if !varies(mean, deviation) {
        return vec![0.0; values.len()];
    }
    let scale = weight.sqrt() / deviation;
    values
        .iter()
        .map(|&value| ((f64::from(value) - mean) * scale) as f32)
        .collect()
}

/// Whether a spread is more than the rounding of single precision about the mean.
pub(super) fn varies(mean: f64, deviation: f64) -> bool {
    deviation > 1e-6 * mean.abs() && deviation > f64::MIN_POSITIVE
}

/// Mean and population standard deviation.
pub(super) fn mean_and_deviation(values: &[f32]) -> (f64, f64) {
    let count = values.len().max(1) as f64;
    let mean = sum(values, f64::from) / count;
    let variance = sum(values, |value| (f64::from(value) - mean).powi(2)) / count;
    (mean, variance.sqrt())
}

/// Sum in eight interleaved lanes: always the same order, and faster than one chain of additions.
fn sum(values: &[f32], term: impl Fn(f32) -> f64) -> f64 {
    let mut lanes = [0.0_f64; 8];
    let mut blocks = values.chunks_exact(8);
    for block in &mut blocks {
        for (lane, &value) in lanes.iter_mut().zip(block) {
            *lane += term(value);
        }
    }
    lanes.iter().sum::<f64>()
        + blocks
            .remainder()
            .iter()
            .map(|&value| term(value))
            .sum::<f64>()
}
