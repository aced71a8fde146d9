//! Counts of one kind of problem or oddity in a column: the first few in full, the rest as a number.

use crate::provenance::Place;
use crate::remark::Remark;

use crate::intake::error::IntakeError;

/// How many problems of one kind in one column are shown in full.
const SHOWN: usize = 5;

/// Problems of one kind in one column.
#[derive(Debug, Default)]
pub(in crate::intake) struct Problems {
    shown: Vec<IntakeError>,
    more: usize,
}

impl Problems {
    /// Adds a problem; its text is made only if it is shown.
    pub(in crate::intake) fn add(&mut self, error: impl FnOnce() -> IntakeError) {
        if self.shown.len() < SHOWN {
            self.shown.push(error());
        } else {
            self.more += 1;
        }
    }

    /// Adds the problems of later rows.
    pub(in crate::intake) fn join(&mut self, later: Self) {
        self.more += later.more;
        for error in later.shown {
            self.add(|| error);
        }
    }

    /// All problems, the last of them the count of those that are not shown.
    pub(in crate::intake) fn into_errors(
        mut self,
        place: Place,
        what: &'static str,
    ) -> Vec<IntakeError> {
        if self.more > 0 {
            self.shown.push(IntakeError::More {
                place,
                count: self.more,
                what,
            });
        }
        self.shown
    }
}

/// `RowTally` at which something was seen: how many, and the first few.
#[derive(Debug, Default, Clone)]
pub(in crate::intake) struct RowTally {
    count: usize,
    first: Vec<u32>,
}

impl RowTally {
    pub(in crate::intake) fn add(&mut self, row: u32) {
        self.count += 1;
        if self.first.len() < SHOWN {
            self.first.push(row);
        }
    }

    /// Adds later rows.
    pub(in crate::intake) fn join(&mut self, later: &Self) {
        self.count += later.count;
        self.first
            .extend(later.first.iter().take(SHOWN - self.first.len()));
    }

    pub(in crate::intake) fn count(&self) -> usize {
        self.count
    }

    pub(in crate::intake) fn first(&self) -> Option<u32> {
        self.first.first().copied()
    }

    /// A remark on the rows; nothing where there are none.
    pub(in crate::intake) fn remark(&self, say: impl FnOnce(&Self) -> Remark) -> Option<Remark> {
        (self.count > 0).then(|| say(self))
    }

    /// The rows with a verb: `row 7 repeats`, `rows 7 and 9 repeat`.
    pub(in crate::intake) fn do_it(&self, one: &str, several: &str) -> String {
        format!(
            "{} {}",
            self.show(),
            if self.count == 1 { one } else { several }
        )
    }

    /// `row 7`, `rows 7, 9 and 12`, `rows 7, 9, 12, 13, 20 and 8 more`.
    pub(in crate::intake) fn show(&self) -> String {
        let mut first = self.first.clone();
        first.sort_unstable();
        let list: Vec<String> = first.iter().map(u32::to_string).collect();
        let rest = self.count - self.first.len();
        match list.as_slice() {
            [one] if rest == 0 => format!("row {one}"),
            _ if rest > 0 => format!("rows {} and {rest} more", list.join(", ")),
            [head @ .., last] => format!("rows {} and {last}", head.join(", ")),
            [] => "no row".to_owned(),
        }
    }
}
