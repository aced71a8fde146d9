//! Power and number of neighbours by leave-one-out: a bounded search over a fixed table, the same for every run.

use rayon::prelude::*;

use super::inverse_distance::Power;
use super::smoother::{LANES, Lanes, Smoother, Squares};
use super::tuning_table::Table;

/// Errors within this share of the least count as equal: leave-one-out curves are flat, and the middle of the table is
/// the safer choice. Own rule.
const FLAT: f64 = 0.01;
/// Where equal errors are drawn to.
const MIDDLE: (f64, f64) = (2.0, 12.0);
/// A plane is taken out first where that lessens the error by this share: it lessened it by 9 to 18 % on simulated gradients and by
/// 0.2 % elsewhere (own).
const PLANE_GAIN: f64 = 0.02;

/// What was chosen for a layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tuned {
    /// Power of the inverse distance.
    pub power: Power,
    /// How many nearest sites.
    pub count: usize,
    /// Position in the table.
    pub entry: usize,
    /// Whether a plane is taken out first.
    pub is_tilted: bool,
    /// Least sum of squared errors: what the permutation test holds against chance.
    pub least: f64,
}

/// Chooses for each layer. `values` go by observation.
pub(super) fn tune(
    table: &Table,
    smoother: &Smoother,
    source: &[u32],
    layers: &[&[f64]],
) -> Vec<Tuned> {
    let entries: Vec<(f64, usize)> = table.entries().collect();
    layers
        .par_chunks(LANES)
        .flat_map_iter(|some| {
            let squares = smoother.squares(&columns(source, some));
            let entries = &entries;
            (0..some.len()).map(move |lane| tuned(entries, &squares, lane))
        })
        .collect()
}

/// Values of up to `LANES` layers by site.
pub(super) fn columns(source: &[u32], layers: &[&[f64]]) -> Vec<Lanes> {
    source
        .iter()
        .map(|&observation| {
            let mut column = [0.0; LANES];
            for (lane, values) in column.iter_mut().zip(layers) {
                *lane = values[observation as usize];
            }
            column
        })
        .collect()
}

fn tuned(entries: &[(f64, usize)], squares: &Squares, lane: usize) -> Tuned {
    let is_tilted = is_tilted(squares, lane);
    let of = if is_tilted {
        &squares.plane
    } else {
        &squares.plain
    };
    let (entry, power, count) = choose(entries, |entry| of[entry][lane]);
    Tuned {
        power,
        count,
        entry,
        is_tilted,
        least: least(squares, lane),
    }
}

/// The least sum of squared errors that the choice can reach.
pub(super) fn least(squares: &Squares, lane: usize) -> f64 {
    if is_tilted(squares, lane) {
        least_of(&squares.plane, lane)
    } else {
        least_of(&squares.plain, lane)
    }
}

/// Whether the plane gains enough.
fn is_tilted(squares: &Squares, lane: usize) -> bool {
    let worth = (1.0 - PLANE_GAIN).powi(2) * least_of(&squares.plain, lane);
    least_of(&squares.plane, lane) < worth
}

fn least_of(squares: &[Lanes], lane: usize) -> f64 {
    squares
        .iter()
        .map(|sums| sums[lane])
        .fold(f64::INFINITY, f64::min)
}

/// The entry with the least error; of those about as good, the one nearest to the middle of the table.
fn choose(entries: &[(f64, usize)], squares: impl Fn(usize) -> f64) -> (usize, Power, usize) {
    let least = (0..entries.len())
        .map(&squares)
        .fold(f64::INFINITY, f64::min);
    let limit = least * (1.0 + FLAT).powi(2);
    let off = |(power, count): (f64, usize)| {
        (power / MIDDLE.0).log2().abs() + (count as f64 / MIDDLE.1).log2().abs()
    };
    let best = (0..entries.len())
        .filter(|&entry| squares(entry) <= limit)
        .min_by(|&a, &b| off(entries[a]).total_cmp(&off(entries[b])));
    let entry = best.unwrap_or(0);
    let (power, count) = entries[entry];
    (entry, Power(power), count)
}

#[cfg(test)]
#[path = "tuning_tests.rs"]
mod tests;
