//! How sure the prediction efficiency is: the places are drawn again and again, with replacement, from a fixed seed.

use crate::order_statistics::quantile_of_rising;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Times that the places are drawn.
const DRAWS: usize = 1_000;
/// More places than this are drawn in so many groups, each place of a group far from the others.
const GROUPS: usize = 256;
/// One seed for all, so that the same field has the same interval.
const SEED: u64 = 0x5eed;
/// Share of the draws below and above the interval: a 90 % interval.
const TAIL: f64 = 0.05;

/// 90 % interval of `1 - sum(errors²) / sum(errors of the mean²)` for each layer (percentile method).
///
/// # Source
/// Efron, B. 1979. Bootstrap methods: another look at the jackknife. Annals of Statistics 7:1-26 (from memory). It takes
/// the errors as independent from place to place, which neighbours' errors are not quite.
pub(super) fn efficiency_intervals(layers: &[(Vec<f64>, Vec<f64>)]) -> Vec<(f64, f64)> {
    let grouped: Vec<Vec<(f64, f64)>> = layers
        .iter()
        .map(|(errors, of_mean)| group(errors, of_mean))
        .collect();
    let size = grouped.first().map_or(0, Vec::len);
    if size == 0 {
        return Vec::new();
    }
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    let mut drawn: Vec<Vec<f64>> = vec![Vec::with_capacity(DRAWS); layers.len()];
    let mut times = vec![0.0; size];
    for _ in 0..DRAWS {
        times.fill(0.0);
        for _ in 0..size {
            // A multiply and a shift: even to one part in four billion over the size.
            times[((u64::from(random.next_u32()) * size as u64) >> 32) as usize] += 1.0;
        }
        for (efficiencies, squares) in drawn.iter_mut().zip(&grouped) {
            let (of_map, of_mean) = times
                .iter()
                .zip(squares)
                .fold((0.0, 0.0), |(a, b), (n, square)| {
                    (a + n * square.0, b + n * square.1)
                });
            efficiencies.push(if of_mean > 0.0 {
                1.0 - of_map / of_mean
            } else {
                0.0
            });
        }
    }
    drawn
        .into_iter()
        .map(|mut efficiencies| {
            efficiencies.sort_unstable_by(f64::total_cmp);
            let quantile = |share| quantile_of_rising(&efficiencies, share).unwrap_or(f64::NAN);
            (quantile(TAIL), quantile(1.0 - TAIL))
        })
        .collect()
}

/// Squares of both errors, place by place or group by group.
fn group(errors: &[f64], of_mean: &[f64]) -> Vec<(f64, f64)> {
    let mut groups = vec![(0.0, 0.0); errors.len().min(GROUPS)];
    for (i, (error, mean)) in errors.iter().zip(of_mean).enumerate() {
        let group = &mut groups[i % GROUPS];
        *group = (group.0 + error * error, group.1 + mean * mean);
    }
    groups
}

#[cfg(test)]
#[path = "bootstrap_tests.rs"]
mod tests;
