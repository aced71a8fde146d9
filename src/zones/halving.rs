//! Clusters by halving: cells are parted step by step, each time the part that varies most across its principal axis, and each count
//! is then settled by k-means from there. Nothing is drawn at random, so the same maps give the same parts whatever the seed and
//! wherever the field lies. The counts are compared with such clusters, and the zones are drawn from them.
//!
//! # Source
//! Parting along the principal axis as a start: Su and Dy 2007, "In search of deterministic methods for initializing k-means
//! and Gaussian mixture clustering", Intelligent Data Analysis 11:319 (from memory).

use super::small_k_means::SmallTable;
use super::standardise::Features;

/// Turns of a principal axis at most.
const MOST_TURNS: usize = 100;
/// An axis none of whose parts moves by more is settled.
const SETTLED: f64 = 1e-4;

/// The cluster of each cell for one cluster, for two, and so on; fewer where fewer cells differ.
pub(super) fn parted(features: &Features, most: usize) -> Vec<Vec<u8>> {
    let clustering = SmallTable::new(features);
    let mut found = vec![vec![0; features.cells()]];
    let mut halving = Halving::new(features);
    while found.len() < most && halving.halve() {
        let Some(labels) = clustering.settled(&halving.centres()) else {
            break;
        };
        found.push(labels);
    }
    found
}

/// Parts of the cells, more with every step.
struct Halving<'f> {
    features: &'f Features,
    parts: Vec<Part>,
}

impl<'f> Halving<'f> {
    fn new(features: &'f Features) -> Self {
        let all = (0..features.cells()).collect();
        Self {
            features,
            parts: vec![Part::new(features, all)],
        }
    }

    /// Halves the part that varies most, the first of equal ones; whether that was possible.
    fn halve(&mut self) -> bool {
        let squares = |at: usize| self.parts[at].squares;
        let widest = (0..self.parts.len())
            .max_by(|&a, &b| squares(a).total_cmp(&squares(b)).then(b.cmp(&a)));
        let Some(widest) = widest else { return false };
        let Some((low, high)) = self.parts[widest].halves(self.features) else {
            return false;
        };
        self.parts[widest] = low;
        self.parts.push(high);
        true
    }

    /// The means of the parts, row-major.
    fn centres(&self) -> Vec<f32> {
        let means = self.parts.iter().flat_map(|part| part.mean.iter().copied());
        means.collect()
    }
}

/// Some cells with their mean and what they differ from it.
struct Part {
    cells: Vec<usize>,
    mean: Vec<f32>,
    /// By layer and cell, less the mean.
    off: Vec<f32>,
    /// Sum of the squared distances.
    squares: f64,
}

impl Part {
    fn new(features: &Features, cells: Vec<usize>) -> Self {
        let n = cells.len().max(1) as f64;
        let layers = features.layers();
        let (mut mean, mut off) = (Vec::with_capacity(layers), Vec::new());
        off.reserve(layers * cells.len());
        for layer in 0..layers {
            let column = features.column(layer);
            let sum: f64 = cells.iter().map(|&cell| f64::from(column[cell])).sum();
            let middle = (sum / n) as f32;
            off.extend(cells.iter().map(|&cell| column[cell] - middle));
            mean.push(middle);
        }
        Self {
            squares: f64::from(product(&off, &off)),
            cells,
            mean,
            off,
        }
    }

    /// Both sides of the mean along the principal axis; `None` where the cells do not differ.
    fn halves(&self, features: &Features) -> Option<(Self, Self)> {
        let (layers, n) = (features.layers(), self.cells.len());
        let column = |layer: usize| &self.off[layer * n..(layer + 1) * n];
        let mut covariance = vec![0.0; layers * layers];
        for a in 0..layers {
            for b in 0..=a {
                let together = f64::from(product(column(a), column(b)));
                (covariance[a * layers + b], covariance[b * layers + a]) = (together, together);
            }
        }
        let axis = principal_axis(&covariance, layers);
        let mut along = vec![0.0; n];
        for (layer, part) in axis.iter().enumerate() {
            for (sum, off) in along.iter_mut().zip(column(layer)) {
                *sum += part * f64::from(*off);
            }
        }
        let (mut low, mut high) = (Vec::new(), Vec::new());
        for (&cell, along) in self.cells.iter().zip(&along) {
            let side = if *along < 0.0 { &mut low } else { &mut high };
            side.push(cell);
        }
        (!low.is_empty() && !high.is_empty())
            .then(|| (Self::new(features, low), Self::new(features, high)))
    }
}

/// The axis that a covariance (row by row) varies most along, as a vector of length 1; the layer that varies most rises. It only has to be good
/// enough to start from, so where two axes vary nearly alike it may lie between them.
///
/// # Source
/// Power method: Golub, G.H. and C.F. Van Loan. Matrix Computations, section on the power method (from memory).
fn principal_axis(covariance: &[f64], layers: usize) -> Vec<f64> {
    let own = |layer: usize| covariance[layer * layers + layer];
    let first = (0..layers).max_by(|&a, &b| own(a).total_cmp(&own(b)).then(b.cmp(&a)));
    let mut axis = vec![0.0; layers];
    if let Some(first) = first {
        axis[first] = 1.0;
    }
    for _ in 0..MOST_TURNS {
        let rows = covariance.chunks_exact(layers);
        let mut next: Vec<f64> = rows
            .map(|row| row.iter().zip(&axis).map(|(c, part)| c * part).sum())
            .collect();
        let length = next.iter().map(|part| part * part).sum::<f64>().sqrt();
        if length <= 0.0 {
            break;
        }
        next.iter_mut().for_each(|part| *part /= length);
        let turned = next.iter().zip(&axis).map(|(new, old)| (new - old).abs());
        let is_settled = turned.fold(0.0, f64::max) < SETTLED;
        axis = next;
        if is_settled {
            break;
        }
    }
    axis
}

/// Sum of products, in lanes that are joined in a fixed order.
fn product(a: &[f32], b: &[f32]) -> f32 {
    const LANES: usize = 16;
    let mut lanes = [0.0_f32; LANES];
    let (whole, rest) = a.as_chunks::<LANES>();
    let (others, other_rest) = b.as_chunks::<LANES>();
    for (a, b) in whole.iter().zip(others) {
        for lane in 0..LANES {
            lanes[lane] += a[lane] * b[lane];
        }
    }
    let left = rest.iter().zip(other_rest).map(|(a, b)| a * b);
    lanes.iter().sum::<f32>() + left.sum::<f32>()
}

#[cfg(test)]
#[path = "halving_tests.rs"]
mod tests;
