//! Fuzzy c-means: every cell belongs a little to every class, the more the nearer it lies to the centre.

use rayon::prelude::*;

use super::k_means::k_means;
use super::kmeans_plus_plus::{generator, spread_centres, spread_sample};
use super::memberships::Memberships;
use super::standardise::Features;

/// Random starts beside the one from the k-means centres. On the open field two optima compete at m = 1.5 with 4 classes.
const STARTS: u64 = 24;
/// Cells that the classes are sought on; a larger field is sampled, spread over its area (own).
const SAMPLE: usize = 2048;
/// A start goes on until no centre moves farther than this, in standard deviations; only the best goes on to `FINE`.
const COARSE: f64 = 1e-3;
const FINE: f64 = 1e-11;
/// Passes at most.
const PASSES: usize = 5_000;

/// Fuzzy classes.
#[derive(Debug, Clone, PartialEq)]
pub struct FuzzyClasses {
    /// Centres in the space of the features, class by class.
    pub centres: Vec<Vec<f64>>,
    /// Memberships of the cells that the classes were sought on: all of them up to 2,048, else a sample.
    pub memberships: Memberships,
    /// Sum over cells and classes of u^m d².
    pub objective: f64,
}

/// The best of several seeded starts with `count` classes and a fuzziness exponent above 1.
///
/// # Source
/// Bezdek 1981, "Pattern recognition with fuzzy objective function algorithms", chapter 3: u = 1 / sum (d i / d j)^(2 / (m - 1)),
/// centres weighted by u^m.
#[must_use]
pub fn fuzzy_c_means(features: &Features, count: usize, exponent: f64, seed: u64) -> FuzzyClasses {
    let sample =
        Rows::from_features(&features.sample(&spread_sample(features.cells(), SAMPLE, seed)));
    let start_at = |start: u64| -> Vec<f64> {
        if start == 0 {
            return k_means(&sample.features, count, seed).centres.concat();
        }
        spread_centres(&sample.features, count, &mut generator(seed, start))
            .into_iter()
            .map(f64::from)
            .collect()
    };
    let run = |start: u64| sample.settle(start_at(start), exponent, COARSE);
    let results: Vec<FuzzyClasses> = (0..=STARTS).into_par_iter().map(run).collect();
    let best = results.into_iter().reduce(|best, next| {
        if next.objective < best.objective {
            next
        } else {
            best
        }
    });
    let centres = best
        .map(|classes| classes.centres.concat())
        .unwrap_or_default();
    sample.settle(centres, exponent, FINE)
}

/// The classes that given centres lead to, to about a hundredth of a standard deviation: enough for the indices.
pub(super) fn fuzzy_from(features: &Features, centres: &[Vec<f64>], exponent: f64) -> FuzzyClasses {
    Rows::from_features(features).settle(centres.concat(), exponent, 1e-2)
}

/// Features row by row in double precision.
struct Rows {
    features: Features,
    values: Vec<f64>,
    layers: usize,
}

impl Rows {
    fn from_features(features: &Features) -> Self {
        let layers = features.layers();
        let values = (0..features.cells())
            .flat_map(|cell| (0..layers).map(move |layer| f64::from(features.column(layer)[cell])))
            .collect();
        Self {
            features: features.clone(),
            values,
            layers,
        }
    }

    fn settle(&self, mut centres: Vec<f64>, exponent: f64, tolerance: f64) -> FuzzyClasses {
        let mut state = self.pass(&centres, exponent);
        for _ in 0..PASSES {
            let moved = centres
                .iter()
                .zip(&state.means)
                .map(|(old, new)| (old - new).abs())
                .fold(0.0, f64::max);
            centres.clone_from(&state.means);
            state = self.pass(&centres, exponent);
            if moved <= tolerance {
                break;
            }
        }
        let classes = centres.len() / self.layers.max(1);
        FuzzyClasses {
            centres: centres
                .chunks_exact(self.layers.max(1))
                .map(<[f64]>::to_vec)
                .collect(),
            memberships: Memberships::new(classes, state.memberships),
            objective: state.objective,
        }
    }

    /// Memberships for given centres, and the centres that follow from them.
    fn pass(&self, centres: &[f64], exponent: f64) -> Pass {
        let classes = centres.len() / self.layers.max(1);
        let mut memberships = vec![0.0; self.values.len() / self.layers.max(1) * classes];
        let (mut sums, mut weights, mut objective) =
            (vec![0.0; centres.len()], vec![0.0; classes], 0.0);
        let mut squares = vec![0.0; classes];
        for (row, own) in self
            .values
            .chunks_exact(self.layers.max(1))
            .zip(memberships.chunks_exact_mut(classes.max(1)))
        {
            for (square, centre) in squares.iter_mut().zip(centres.chunks_exact(self.layers)) {
                *square = row.iter().zip(centre).map(|(a, b)| (a - b) * (a - b)).sum();
            }
            belong(&squares, exponent, own);
            for (class, &u) in own.iter().enumerate() {
                let weight = raise(u, exponent);
                objective += weight * squares[class];
                weights[class] += weight;
                let sum = &mut sums[class * self.layers..(class + 1) * self.layers];
                sum.iter_mut()
                    .zip(row)
                    .for_each(|(sum, value)| *sum += weight * value);
            }
        }
        let means = sums
            .iter()
            .enumerate()
            .map(|(at, sum)| sum / weights[at / self.layers].max(f64::MIN_POSITIVE))
            .collect();
        Pass {
            memberships,
            means,
            objective,
        }
    }
}

struct Pass {
    memberships: Vec<f64>,
    means: Vec<f64>,
    objective: f64,
}

/// Memberships of one cell from its squared distances. They are scaled by the smallest one first, or a small exponent would overflow
/// near a centre.
fn belong(squares: &[f64], exponent: f64, out: &mut [f64]) {
    let least = squares.iter().copied().fold(f64::INFINITY, f64::min);
    if least <= 0.0 {
        let on_centre = squares.iter().filter(|square| **square <= 0.0).count() as f64;
        out.iter_mut()
            .zip(squares)
            .for_each(|(u, &square)| *u = if square <= 0.0 { 1.0 / on_centre } else { 0.0 });
        return;
    }
    let power = 1.0 / (exponent - 1.0);
    out.iter_mut()
        .zip(squares)
        .for_each(|(u, square)| *u = raise(least / square, power));
    let sum: f64 = out.iter().sum();
    for u in out.iter_mut() {
        *u /= sum;
    }
}

/// A power; the exponents that people use most need no logarithm.
fn raise(base: f64, power: f64) -> f64 {
    match power {
        1.0 => base,
        1.5 => base * base.sqrt(),
        2.0 => base * base,
        _ => base.powf(power),
    }
}
