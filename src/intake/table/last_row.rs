//! Whether a table was cut off in its last row.
//!
//! Nothing in a file of text says where it ends. What can be known: a file that was cut has no line end after its last row, and its last row
//! has fewer cells than the header, or a last cell that is shorter than those above it. Many whole files have no last line end either, so
//! that alone is not compared with a file.

use crate::remark::Remark;

use crate::intake::columns::Header;
use crate::intake::context::Context;
use crate::intake::error::{IntakeError, clipped};
use crate::intake::formats::delimited::{Row, text_of};

/// `RowTally` that a last cell has to be compared with before anything is concluded from it (own).
const ENOUGH_ROWS: usize = 3;
/// Letters from which a lone cell with blanks in it is a note under the table and not the start of a row (own).
const NOTE_LETTERS: usize = 8;

/// What was seen of the last column and of the last row.
#[derive(Debug, Default)]
pub(in crate::intake) struct LastRow {
    /// Columns with a name, counted to the last of them.
    width: usize,
    /// Lengths and decimals in the last column, of all rows but the last.
    above: Cells,
    /// Cells of the row with the fewest, of all rows but the last.
    fewest: Option<usize>,
    last: Option<Seen>,
}

/// A row as far as it matters here.
#[derive(Debug, Clone)]
struct Seen {
    number: u32,
    is_open: bool,
    cells: usize,
    filled: usize,
    /// What stands in its last cell.
    text: String,
}

/// Cells of one column.
#[derive(Debug, Clone, Copy)]
struct Cells {
    count: usize,
    blank: usize,
    shortest: usize,
    fewest_decimals: usize,
    most_decimals: usize,
}

impl Default for Cells {
    fn default() -> Self {
        Self {
            count: 0,
            blank: 0,
            shortest: usize::MAX,
            fewest_decimals: usize::MAX,
            most_decimals: 0,
        }
    }
}

impl Cells {
    fn add(&mut self, cell: &[u8]) {
        self.count += 1;
        if cell.is_empty() {
            self.blank += 1;
            return;
        }
        let decimals = decimals_of(cell);
        self.shortest = self.shortest.min(cell.len());
        self.fewest_decimals = self.fewest_decimals.min(decimals);
        self.most_decimals = self.most_decimals.max(decimals);
    }

    fn join(&mut self, other: &Self) {
        self.count += other.count;
        self.blank += other.blank;
        self.shortest = self.shortest.min(other.shortest);
        self.fewest_decimals = self.fewest_decimals.min(other.fewest_decimals);
        self.most_decimals = self.most_decimals.max(other.most_decimals);
    }
}

fn decimals_of(cell: &[u8]) -> usize {
    cell.iter()
        .position(|byte| *byte == b'.')
        .map_or(0, |at| cell.len() - at - 1)
}

/// What the last row looks like.
#[derive(Debug, PartialEq)]
enum Verdict {
    Whole,
    /// It may be whole; in words what speaks against it.
    Unclear(String),
    /// It was cut off; in words what shows it.
    Cut(String),
}

impl LastRow {
    pub(in crate::intake) fn new(header: &Header) -> Self {
        let width = header
            .names
            .iter()
            .rposition(|name| !name.is_empty())
            .map_or(0, |at| at + 1);
        Self {
            width,
            ..Self::default()
        }
    }

    /// Takes a row; the last one taken is the last row.
    #[inline]
    pub(in crate::intake) fn take(&mut self, row: &Row<'_>) {
        if row.len() >= self.width && !row.is_open {
            self.above
                .add(row.cell(self.width.saturating_sub(1)).trim_ascii());
            if self.last.is_some() {
                self.count_short();
            }
            return;
        }
        self.take_odd(row);
    }

    /// A row that is short, or the last one without a line end.
    #[cold]
    fn take_odd(&mut self, row: &Row<'_>) {
        if row.is_blank() {
            return;
        }
        self.count_short();
        let (text, _) = text_of(row.cell(row.len().saturating_sub(1)).trim_ascii());
        self.last = Some(Seen {
            number: row.number,
            is_open: row.is_open,
            cells: row.len(),
            filled: (0..row.len())
                .filter(|at| !row.cell(*at).trim_ascii().is_empty())
                .count(),
            text: text.into_owned(),
        });
    }

    /// A row that was thought the last is one of those above.
    fn count_short(&mut self) {
        let before = self.last.take().map(|before| before.cells);
        self.fewest = self.fewest.into_iter().chain(before).min();
    }

    /// Adds later rows.
    pub(in crate::intake) fn join(&mut self, later: Self) {
        self.above.join(&later.above);
        self.fewest = self.fewest.into_iter().chain(later.fewest).min();
        if later.above.count > 0 || later.last.is_some() {
            self.count_short();
            self.last = later.last;
        }
    }

    fn verdict(&self, last: &Seen) -> Verdict {
        if last.cells < self.width {
            return self.verdict_on_short(last);
        }
        let Cells { count, blank, .. } = self.above;
        let filled = count - blank;
        if last.text.is_empty() {
            return match (blank, count >= ENOUGH_ROWS) {
                (0, true) => Verdict::Cut("its last cell is empty, as in no row above".to_owned()),
                (0, false) => Verdict::Unclear("its last cell is empty".to_owned()),
                _ => Verdict::Whole,
            };
        }
        let length = last.text.len();
        let decimals = decimals_of(last.text.as_bytes());
        let is_shorter = filled > 0 && length < self.above.shortest;
        let has_fixed = self.above.fewest_decimals == self.above.most_decimals;
        let lacks_decimals = filled > 0 && has_fixed && decimals < self.above.most_decimals;
        let what = format!(
            "its last cell, \"{}\", is shorter than every cell above it",
            clipped(&last.text)
        );
        match (is_shorter || lacks_decimals, filled >= ENOUGH_ROWS) {
            (true, true) => Verdict::Cut(what),
            (true, false) => Verdict::Unclear(what),
            _ if last.text.ends_with(['.', '-', '+']) => Verdict::Cut(format!(
                "its last cell, \"{}\", breaks off",
                clipped(&last.text)
            )),
            _ => Verdict::Whole,
        }
    }

    fn verdict_on_short(&self, last: &Seen) -> Verdict {
        let is_note = last.cells == 1 && last.text.len() >= NOTE_LETTERS && last.text.contains(' ');
        let what = format!("it has {} cells, the header {}", last.cells, self.width);
        let is_usual = self.fewest.is_some_and(|fewest| fewest <= last.cells);
        match (is_note, last.is_open) {
            (true, _) => Verdict::Whole,
            _ if is_usual => Verdict::Whole,
            (_, true) => Verdict::Cut(what),
            (_, false) if last.filled > 2 => Verdict::Unclear(what),
            _ => Verdict::Whole,
        }
    }

    /// Says what is wrong with the last row, as an error where it was cut off.
    pub(in crate::intake) fn report(&self, context: &mut Context<'_>) {
        let Some(last) = &self.last else { return };
        let place = context.place().at_row(last.number);
        match self.verdict(last) {
            Verdict::Whole => {}
            Verdict::Unclear(what) => context.remarks.push(
                Remark::warning(
                    "last-row-in-question",
                    format!("the last row may be cut off: {what}"),
                )
                .at(place)
                .help("compare it with the file as it was sent, and fill up the row"),
            ),
            Verdict::Cut(what) => context.errors.push(IntakeError::CutOff { place, what }),
        }
    }
}

#[cfg(test)]
#[path = "last_row_tests.rs"]
mod tests;
