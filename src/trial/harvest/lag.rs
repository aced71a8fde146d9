use rayon::prelude::*;

use super::YieldPoint;
use super::cell_index::CellIndex;
use super::passes::median_of_known;

/// Furthest shift that is tried, records.
pub const LONGEST_LAG: i32 = 5;
/// Points compared are at most this far apart, metres.
const NEAR: f64 = 15.0;
/// Passes with fewer points are not compared.
const FEWEST_POINTS: usize = 20;
/// Points left out at both ends of a pass: one more than the longest shift.
const ENDS: usize = 6;
/// Yields outside these parts of the median are not compared. Own.
const BELIEVED: (f64, f64) = (0.15, 3.0);
/// A shift is believed where it leaves less than this share of the difference without a shift. Own; the raw monitor file that the method was tried on leaves
/// 57 %.
const CLEARLY_LESS: f64 = 0.85;
/// Every so many points are compared.
const EVERY: usize = 3;

/// How many records the flow runs behind the place.
#[derive(Debug, Clone, PartialEq)]
pub struct Lag {
    /// The shift with the least difference: the flow of a place stands so many records later.
    pub records: i32,
    /// Shift and half the mean squared difference between near points of different passes, kg²/ha².
    pub curve: Vec<(i32, f64)>,
}

/// Finds the lag: the shift that makes neighbouring passes, driven in opposite directions, most alike.
///
/// # Source
/// Half mean squared difference as a semivariogram at short distance, after Chung, S.O., Sudduth, K.A. and Drummond, S.T. 2002. Transactions of the ASAE
/// 45:845-853 (idea from memory).
pub(super) fn find(points: &[YieldPoint], passes: &[std::ops::Range<usize>], standard: f64) -> Lag {
    let inner: Vec<u32> = passes
        .iter()
        .filter(|range| range.len() >= FEWEST_POINTS)
        .flat_map(|range| (range.start + ENDS..range.end - ENDS).map(|at| at as u32))
        .collect();
    let mut pass_of = vec![u32::MAX; points.len()];
    for (pass, range) in passes.iter().enumerate() {
        pass_of[range.clone()].fill(pass as u32);
    }
    let pairs = pairs(points, &inner, &pass_of);
    let curve: Vec<(i32, f64)> = (-LONGEST_LAG..=LONGEST_LAG)
        .map(|shift| (shift, half_square(points, &pairs, shift, standard)))
        .collect();
    let least = curve
        .iter()
        .filter(|(_, value)| value.is_finite())
        .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.abs().cmp(&b.0.abs())));
    let unshifted = curve
        .iter()
        .find(|(shift, _)| *shift == 0)
        .map_or(f64::NAN, |(_, value)| *value);
    // On even ground every shift is as good as another: chance alone makes one the least.
    let is_clear = |(_, value): &&&(i32, f64)| *value < CLEARLY_LESS * unshifted;
    let records = least
        .as_ref()
        .filter(is_clear)
        .map_or(0, |(shift, _)| *shift);
    Lag { records, curve }
}

/// Each third point with the nearest of another pass.
fn pairs(points: &[YieldPoint], inner: &[u32], pass_of: &[u32]) -> Vec<(u32, u32)> {
    if inner.is_empty() {
        return Vec::new();
    }
    let places: Vec<(f64, f64)> = points.iter().map(|p| (p.along, p.across)).collect();
    let index = CellIndex::new(&places, inner, NEAR);
    let chosen: Vec<u32> = inner.iter().copied().step_by(EVERY).collect();
    chosen
        .par_iter()
        .filter_map(|&at| {
            let here = places[at as usize];
            let far = |other: u32| {
                let there = places[other as usize];
                (there.0 - here.0).powi(2) + (there.1 - here.1).powi(2)
            };
            index
                .around(here, NEAR)
                .filter(|&other| pass_of[other as usize] != pass_of[at as usize])
                .map(|other| (far(other), other))
                .filter(|(square, _)| *square <= NEAR * NEAR)
                .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
                .map(|(_, other)| (at, other))
        })
        .collect()
}

fn half_square(points: &[YieldPoint], pairs: &[(u32, u32)], shift: i32, standard: f64) -> f64 {
    let value = |at: u32| {
        let later = (i64::from(at) + i64::from(shift)) as usize;
        shifted(&points[at as usize], &points[later], standard)
    };
    let values: Vec<(f64, f64)> = pairs.iter().map(|&(a, b)| (value(a), value(b))).collect();
    let middle = median_of_known(&values.iter().map(|pair| pair.0).collect::<Vec<f64>>());
    let is_believed = |v: f64| v > BELIEVED.0 * middle && v < BELIEVED.1 * middle;
    let (mut sum, mut count) = (0.0, 0_u32);
    for (a, b) in values {
        if is_believed(a) && is_believed(b) {
            sum += (a - b) * (a - b);
            count += 1;
        }
    }
    if count == 0 {
        f64::NAN
    } else {
        0.5 * sum / f64::from(count)
    }
}

/// The yield of a place with the flow (or, without flows, the yield) of a later record.
pub(super) fn shifted(here: &YieldPoint, later: &YieldPoint, standard: f64) -> f64 {
    if later.yields.is_finite() {
        later.dry(later.flow, standard)
    } else {
        here.dry(later.flow, standard)
    }
}
