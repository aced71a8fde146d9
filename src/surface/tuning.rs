//! Power and number of neighbours by leave-one-out: a bounded search over a fixed table, the same for every run.

use rayon::prelude::*;

use super::inverse_distance::{AT_THE_PLACE, Power, inner_and_rim};
use super::leave_one_out::LeftOut;
use super::neighbours::Neighbour;
use crate::plan::{Choice, SurfaceSettings};

/// Powers that are tried.
const POWERS: [f64; 6] = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0];
/// Counts of nearest observations that are tried.
const COUNTS: [usize; 3] = [8, 12, 16];
/// Up to so many observations, all of them at once are tried too.
const ALL_AT_MOST: usize = 300;
/// Errors within this share of the least count as equal: leave-one-out curves are flat, and the middle of the table is
/// the safer choice. Own rule.
const FLAT: f64 = 0.01;
/// Where equal errors are drawn to.
const MIDDLE: (f64, f64) = (2.0, 12.0);
/// Places per piece of parallel work.
const PIECE: usize = 64;

/// What may be chosen from.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Table {
    /// Powers.
    pub powers: Vec<f64>,
    /// Counts of nearest sites, rising.
    pub counts: Vec<usize>,
}

impl Table {
    /// The table for so many observations; what the plan fixed has one entry. A count that reaches all is held at all.
    pub(super) fn new(how: &SurfaceSettings, observations: usize) -> Self {
        let powers = match how.power {
            Choice::Fixed(power) => vec![power],
            Choice::Auto => POWERS.to_vec(),
        };
        let mut counts = match how.neighbours {
            Choice::Fixed(count) => vec![count],
            Choice::Auto if observations <= ALL_AT_MOST => {
                [COUNTS.as_slice(), &[observations]].concat()
            }
            Choice::Auto => COUNTS.to_vec(),
        };
        for count in &mut counts {
            *count = (*count).min(observations).max(1);
        }
        counts.sort_unstable();
        counts.dedup();
        Self { powers, counts }
    }

    /// The most neighbours that any entry asks for.
    pub(super) fn most(&self) -> usize {
        self.counts.last().copied().unwrap_or(1)
    }

    fn entries(&self) -> impl Iterator<Item = (f64, usize)> + '_ {
        self.powers
            .iter()
            .flat_map(|&power| self.counts.iter().map(move |&count| (power, count)))
    }
}

/// Power and count of each layer. `values` go by observation.
pub(super) fn tune(
    table: &Table,
    left_out: &LeftOut,
    source: &[u32],
    layers: &[&[f64]],
) -> Vec<(Power, usize)> {
    let entries: Vec<(f64, usize)> = table.entries().collect();
    if let [(power, count)] = entries[..] {
        return vec![(Power(power), count); layers.len()];
    }
    let places: Vec<usize> = (0..left_out.len()).collect();
    let pieces: Vec<Vec<f64>> = places
        .par_chunks(PIECE)
        .map(|piece| {
            let mut squares = vec![0.0; entries.len() * layers.len()];
            let mut running = Vec::new();
            for &place in piece {
                add_errors(
                    table,
                    left_out,
                    place,
                    source,
                    layers,
                    &mut running,
                    &mut squares,
                );
            }
            squares
        })
        .collect();
    let mut squares = vec![0.0; entries.len() * layers.len()];
    for piece in pieces {
        squares
            .iter_mut()
            .zip(piece)
            .for_each(|(sum, part)| *sum += part);
    }
    (0..layers.len())
        .map(|layer| choose(&entries, |entry| squares[entry * layers.len() + layer]))
        .collect()
}

/// Adds the squared errors of one place, for every entry of the table and every layer.
fn add_errors(
    table: &Table,
    left_out: &LeftOut,
    place: usize,
    source: &[u32],
    layers: &[&[f64]],
    running: &mut Vec<f64>,
    squares: &mut [f64],
) {
    let near = left_out.near(place);
    let Some(nearest) = near.first().map(|n| n.squared.max(AT_THE_PLACE)) else {
        return;
    };
    let width = layers.len() + 1;
    let observed = source[left_out.sites[place] as usize] as usize;
    let cuts: Vec<(usize, usize, f64)> =
        table.counts.iter().map(|&count| cut(near, count)).collect();
    for (p, &power) in table.powers.iter().enumerate() {
        running.clear();
        running.resize(width, 0.0);
        for neighbour in near {
            let weight = Power(power).of_ratio(nearest / neighbour.squared.max(AT_THE_PLACE));
            let row = running.len() - width;
            let behind = source[neighbour.site as usize] as usize;
            running.push(running[row] + weight);
            for (layer, values) in layers.iter().enumerate() {
                running.push(running[row + 1 + layer] + weight * values[behind]);
            }
        }
        for (c, &(inner, rim, share)) in cuts.iter().enumerate() {
            let sum = |column: usize| {
                let (inside, with_rim) = (
                    running[inner * width + column],
                    running[(inner + rim) * width + column],
                );
                inside + share * (with_rim - inside)
            };
            let entry = p * table.counts.len() + c;
            for (layer, values) in layers.iter().enumerate() {
                squares[entry * layers.len() + layer] +=
                    (sum(layer + 1) / sum(0) - values[observed]).powi(2);
            }
        }
    }
}

/// How many of rising neighbours are surely among the `count` nearest, how many tie for the last place, and their share.
fn cut(near: &[Neighbour], count: usize) -> (usize, usize, f64) {
    let last = count.min(near.len()) - 1;
    let (inner, rim) = inner_and_rim(near.iter().map(|n| n.squared), near[last].squared);
    (inner, rim, (last + 1 - inner) as f64 / rim as f64)
}

/// The entry with the least error; of those about as good, the one nearest to the middle of the table.
fn choose(entries: &[(f64, usize)], squares: impl Fn(usize) -> f64) -> (Power, usize) {
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
    let (power, count) = entries[best.unwrap_or(0)];
    (Power(power), count)
}

#[cfg(test)]
#[path = "tuning_tests.rs"]
mod tests;
