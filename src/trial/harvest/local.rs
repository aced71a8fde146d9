use crate::order_statistics::median;
use rayon::prelude::*;

use super::YieldPoint;
use super::cell_index::CellIndex;
use super::outliers::median_and_robust_sd;

/// Neighbours are at most this far away, metres.
const NEAR: f64 = 20.0;
/// With fewer neighbours nothing is said.
const FEWEST: usize = 5;
/// Furthest distance from the neighbours' median, in robust standard deviations.
const FURTHEST: f64 = 3.5;
/// The least standard deviation that is taken for it, as a share of the field's median.
const LEAST_SPREAD: f64 = 0.05;

/// Whether each chosen point is unlike the points of other passes of its treatment near it. Points of the same pass share their errors and must not
/// vouch for each other.
///
/// # Source
/// Leroux, C. et al. 2018. Precision Agriculture, doi 10.1007/s11119-017-9555-0 (neighbours of other passes); limits own.
pub(super) fn unlike(
    points: &[YieldPoint],
    passes: &[u32],
    yields: &[f64],
    chosen: &[u32],
) -> Vec<bool> {
    if chosen.is_empty() {
        return Vec::new();
    }
    let places: Vec<(f64, f64)> = points.iter().map(|p| (p.along, p.across)).collect();
    let index = CellIndex::new(&places, chosen, NEAR);
    let mut all: Vec<f64> = chosen.iter().map(|&at| yields[at as usize]).collect();
    let least = LEAST_SPREAD * median(&mut all).unwrap_or(f64::NAN);
    chosen
        .par_iter()
        .map_init(Vec::new, |near: &mut Vec<f64>, &at| {
            let (here, point) = (places[at as usize], &points[at as usize]);
            near.clear();
            near.extend(
                index
                    .around(here, NEAR)
                    .filter(|&other| {
                        let there = places[other as usize];
                        passes[other as usize] != passes[at as usize]
                            && points[other as usize].treatment == point.treatment
                            && (there.0 - here.0).powi(2) + (there.1 - here.1).powi(2)
                                <= NEAR * NEAR
                    })
                    .map(|other| yields[other as usize]),
            );
            if near.len() < FEWEST {
                return false;
            }
            let (middle, spread) = median_and_robust_sd(near);
            (yields[at as usize] - middle).abs() > FURTHEST * spread.max(least)
        })
        .collect()
}
