//! Plants counted on a length of row or in a hoop, and what a stand keeps of the yield.

use statrs::distribution::{ContinuousCDF, Normal};

use super::sample::student_t;

/// Square feet of an acre.
const SQUARE_FEET: f64 = 43_560.0;

/// Plants per acre from a count on a length of one row.
///
/// # Units
/// Feet.
///
/// # Range
/// Length and spacing above 0; `None` otherwise.
///
/// # Source
/// Definition: 1/1,000 acre is 43.56 ft2, 17 ft 5 in of a row at 30 in.
#[must_use]
pub fn plants_per_acre(count: f64, row_length_ft: f64, row_spacing_ft: f64) -> Option<f64> {
    let area = row_length_ft * row_spacing_ft;
    (row_length_ft > 0.0 && row_spacing_ft > 0.0).then(|| count * SQUARE_FEET / area)
}

/// Plants per acre from a count in a hoop.
///
/// # Units
/// Feet.
///
/// # Range
/// Diameter above 0; `None` otherwise.
///
/// # Source
/// Definition: count x 43,560 / (pi d² / 4).
#[must_use]
pub fn plants_per_acre_in_hoop(count: f64, diameter_ft: f64) -> Option<f64> {
    let area = std::f64::consts::PI * diameter_ft * diameter_ft / 4.0;
    (diameter_ft > 0.0).then(|| count * SQUARE_FEET / area)
}

/// How many counts hold the mean within a gap, where their spread is known for sure: `n = (z CV / E)²`, z of a two-sided share.
///
/// # Units
/// Percent of the mean, both.
///
/// # Source
/// Usual sample size of a mean; CV 10 and E 5 at 95 % give 15.4, which is 16.
#[must_use]
pub fn counts_needed_normal(spread_pct: f64, gap_pct: f64, share: f64) -> usize {
    let z = Normal::standard().inverse_cdf(0.5 + share / 2.0);
    whole((z * spread_pct / gap_pct).powi(2))
}

/// How many counts hold the mean within a gap at 90 %, where the spread comes from counts itself: `n = (t(0.95, n - 1) CV / E)²`,
/// the least n that holds.
///
/// # Units
/// Percent of the mean, both.
///
/// # Range
/// At least 2.
///
/// # Source
/// Usual sample size of a mean, solved for n with Student's t.
#[must_use]
pub fn counts_needed(spread_pct: f64, gap_pct: f64) -> usize {
    const MOST: usize = 10_000;
    let start = counts_needed_normal(spread_pct, gap_pct, 0.9).clamp(2, MOST);
    (start..MOST)
        .find(|&count| {
            let wanted = (student_t((count - 1) as f64) * spread_pct / gap_pct).powi(2);
            count as f64 >= wanted - 1e-9
        })
        .unwrap_or(MOST)
}

fn whole(counts: f64) -> usize {
    (counts - 1e-9).ceil().max(1.0) as usize
}

/// Percent of the best yield from a table of days and stands, by straight lines. `None` outside the table.
///
/// # Units
/// Days of the year, plants per acre, percent.
///
/// # Source
/// Bilinear interpolation; the table is the rulebook's.
#[must_use]
pub fn percent_of_table(
    (days, plants, percent): (&[f64], &[f64], &[Vec<f64>]),
    day: f64,
    stand: f64,
) -> Option<f64> {
    let (row, down) = bracket(days, day)?;
    let (column, right) = bracket(plants, stand)?;
    let at = |row: usize, column: usize| percent.get(row)?.get(column).copied();
    let along = |row: usize| {
        let left = at(row, column)?;
        let next = if right > 0.0 {
            at(row, column + 1)?
        } else {
            left
        };
        Some(left + right * (next - left))
    };
    let above = along(row)?;
    let below = if down > 0.0 { along(row + 1)? } else { above };
    Some(above + down * (below - above))
}

/// Percent of the best yield from a line of stands: the last value beyond its end, `None` before its start.
#[must_use]
pub fn percent_of_curve(points: &[(f64, f64)], stand: f64) -> Option<f64> {
    let plants: Vec<f64> = points.iter().map(|point| point.0).collect();
    let last = points.last()?;
    if stand >= last.0 {
        return Some(last.1);
    }
    let (at, share) = bracket(&plants, stand)?;
    let (low, high) = (points.get(at)?.1, points.get(at + 1)?.1);
    Some(low + share * (high - low))
}

/// The entry at or before a value, and the share of the way to the next one. `None` outside.
pub(super) fn bracket(rising: &[f64], value: f64) -> Option<(usize, f64)> {
    let (first, last) = (*rising.first()?, *rising.last()?);
    if !(first..=last).contains(&value) {
        return None;
    }
    let at = rising.partition_point(|entry| *entry <= value) - 1;
    let low = *rising.get(at)?;
    let share = rising
        .get(at + 1)
        .map_or(0.0, |high| (value - low) / (high - low));
    Some((at, share))
}
