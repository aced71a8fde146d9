//! A quick zoning of a few cells, for every count from one: good enough to compare counts by. The cells are parted step by step,
//! each time the part that varies most across its principal axis, and each count is then settled by k-means from there. Nothing is
//! drawn at random, so the same maps give the same parts whatever the seed.

use super::components;
use super::layers;
use super::small_k_means::SmallTable;
use super::standardise::Features;
use crate::plan::ZoneSettings;
use crate::surface::Surfaces;

/// Turns of a principal axis at most.
const MOST_TURNS: usize = 100;
/// An axis none of whose parts moves by more is settled.
const SETTLED: f64 = 1e-4;

/// Cells as the zoning sees them.
pub struct Sketch {
    features: Features,
}

impl Sketch {
    /// Of maps that are drawn on a few cells. `None` where no layer may shape the zones.
    #[must_use]
    pub fn of(surfaces: &Surfaces, settings: &ZoneSettings) -> Option<Self> {
        let layers = layers::choose(surfaces, settings, &mut Vec::new());
        let columns: Vec<(&[f32], f64)> = layers.iter().map(|l| (&*l.values, l.weight)).collect();
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
        let clustering = SmallTable::new(&self.features);
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
            let start = parts.iter().flat_map(|part| part.mean.iter().copied());
            let start: Vec<f32> = start.collect();
            let Some(labels) = clustering.settled(&start) else {
                break;
            };
            found.push(labels);
        }
        found
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
