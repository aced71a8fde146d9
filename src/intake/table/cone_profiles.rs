//! The pushes of a place become one profile; a push that stopped above the others was refused by the soil.

use crate::order_statistics::median_of_rising;
use std::collections::BTreeSet;

/// A depth mark in tenths of a millimetre.
pub(in crate::intake) type Mark = u32;

/// In a file with one row per reading, pushes that end this close to the others' depth have reached it (own: such files have no common marks).
const NEAR_ENOUGH: Mark = 300;
/// In such a file, the depth that is pushed to is the one that this share of the places reaches (own).
const SHARE_THAT_REACHES: usize = 10;

/// What was read at one place.
#[derive(Debug, Clone, Default)]
pub(in crate::intake) struct PlacePushes {
    /// Readings in kPa, of all pushes.
    pub readings: Vec<(Mark, f64)>,
    /// How many pushes.
    pub count: usize,
    /// Marks from which on a push says nothing of the soil: it met a stone, or was ended on purpose.
    pub excused: Vec<Mark>,
    /// Marks at which the file itself says that a push was refused.
    pub refused: Vec<Mark>,
}

/// How deep the pushes of a file were meant to go.
#[derive(Debug, Clone, Copy)]
pub(in crate::intake) struct Reach {
    /// Deepest mark that counts as pushed to; `None` where a blank below the last reading says nothing.
    pub deepest: Option<Mark>,
    /// How much above it a push may end.
    pub tolerance: Mark,
}

impl Reach {
    /// Of a file with a column for each mark: the deepest mark that any push reached.
    pub(in crate::intake) fn of_columns(places: &[PlacePushes]) -> Self {
        let deepest = places.iter().filter_map(PlacePushes::last).max();
        Self {
            deepest,
            tolerance: 0,
        }
    }

    /// Of a file with a row for each reading: the deepest mark that a tenth of the places reached.
    pub(in crate::intake) fn of_rows(places: &[PlacePushes]) -> Self {
        let mut ends: Vec<Mark> = places.iter().filter_map(PlacePushes::last).collect();
        ends.sort_unstable();
        let from_above = ends.len().div_ceil(SHARE_THAT_REACHES);
        Self {
            deepest: ends.get(ends.len() - from_above).copied(),
            tolerance: NEAR_ENOUGH,
        }
    }

    /// Where blanks say nothing.
    pub(in crate::intake) const UNKNOWN: Self = Self {
        deepest: None,
        tolerance: 0,
    };

    /// The deepest mark at which a blank of a place is a refusal.
    fn for_place(self, place: &PlacePushes) -> Option<Mark> {
        let last = place.last()?;
        let has_common_marks = self.tolerance == 0 || place.count > 1;
        self.deepest
            .filter(|deepest| has_common_marks || last + self.tolerance < *deepest)
    }
}

impl PlacePushes {
    /// Deepest mark with a reading.
    pub(in crate::intake) fn last(&self) -> Option<Mark> {
        self.readings.iter().map(|(mark, _)| *mark).max()
    }

    /// The median of the pushes at each mark, a refused push counting as harder than any reading. Gives the mark from which on the place is
    /// refused; there and below no number is written.
    pub(in crate::intake) fn profile(
        &mut self,
        marks: &BTreeSet<Mark>,
        reach: Reach,
        out: &mut [f64],
    ) -> Option<Mark> {
        let reach = reach.for_place(self);
        self.readings
            .sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let mut refused_from = None;
        let mut rest: &[(Mark, f64)] = &self.readings;
        // From deep to shallow: how many pushes reached a mark is known from what they read there and below.
        let mut reached = 0;
        for (&mark, out) in marks.iter().zip(out).rev() {
            let (above, below) = rest.split_at(rest.partition_point(|(own, _)| *own < mark));
            let own: Vec<f64> = below
                .iter()
                .filter(|(own, _)| *own == mark)
                .map(|(_, value)| *value)
                .collect();
            rest = above;
            reached = own.len().max(reached);
            let middle = median(&own, self.refused_at(mark, reached, reach));
            if middle == f64::INFINITY {
                refused_from = Some(mark);
            } else {
                *out = middle;
            }
        }
        refused_from
    }

    /// How many pushes had been refused at a mark or above it.
    fn refused_at(&self, mark: Mark, reached: usize, reach: Option<Mark>) -> usize {
        let upto = |marks: &[Mark]| marks.iter().filter(|own| **own <= mark).count();
        let said = upto(&self.refused);
        if reach.is_none_or(|deepest| mark > deepest) {
            return said;
        }
        let stopped = self.count.saturating_sub(reached);
        said.max(stopped.saturating_sub(upto(&self.excused)))
    }
}

/// Median of rising values with so many above all of them; `NaN` of none.
fn median(rising: &[f64], above: usize) -> f64 {
    let mut all = rising.to_vec();
    all.extend(std::iter::repeat_n(f64::INFINITY, above));
    median_of_rising(&all).unwrap_or(f64::NAN)
}

#[cfg(test)]
#[path = "cone_profiles_tests.rs"]
mod tests;
