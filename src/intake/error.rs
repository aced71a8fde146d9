//! Why the files cannot be used.

use thiserror::Error;

use crate::provenance::Place;

/// Why an input cannot be used: what, where, what was found, what is allowed, and the way out.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum IntakeError {
    /// The file cannot be opened or read.
    #[error("{place}: cannot be read ({cause}); check the name and the rights of the file")]
    Unreadable {
        /// The file.
        place: Place,
        /// What the system said.
        cause: std::io::Error,
    },
    /// The file is larger than this program takes.
    #[error("{place}: {what} is over the limit of {limit}; split the file or thin it out")]
    OverLimit {
        /// The file, and the row where it is known.
        place: Place,
        /// What is too large.
        what: String,
        /// The limit in words.
        limit: String,
    },
    /// A kind of file that is not read.
    #[error("{place}: {what}; {help}")]
    UnknownFormat {
        /// The file.
        place: Place,
        /// What it seems to be.
        what: String,
        /// What to do.
        help: String,
    },
    /// The bytes do not follow the format.
    #[error("{place}: not readable as {format}: {what}")]
    Malformed {
        /// The file, and the row where it is known.
        place: Place,
        /// The format.
        format: &'static str,
        /// What is wrong.
        what: String,
    },
    /// The last row of a table ends before its end.
    #[error(
        "{place}: the file seems to be cut off in this row, which is its last one ({what}); copy the file again, or, \
         if the row is whole, fill it up and end it with a line end"
    )]
    CutOff {
        /// The file and the row.
        place: Place,
        /// What shows it.
        what: String,
    },
    /// The file holds nothing to read.
    #[error("{place}: {what}")]
    Nothing {
        /// The file.
        place: Place,
        /// What is missing.
        what: String,
    },
    /// A column that the plan names is not in the file.
    #[error("{place}: there is no column \"{column}\" ({role}); {nearest}")]
    MissingColumn {
        /// The file.
        place: Place,
        /// The name in the plan.
        column: String,
        /// What the plan wants it for.
        role: String,
        /// The nearest names, or all of them.
        nearest: String,
    },
    /// Two readings of a column, or two columns of one meaning, and nothing to choose by.
    #[error("{place}: {what}; say which in the plan, for example {line}")]
    Tie {
        /// The column.
        place: Place,
        /// What the choice is between.
        what: String,
        /// A line for the plan.
        line: String,
    },
    /// A unit that the analyte is not measured in.
    #[error(
        "{place}: \"{unit}\" is not a unit of {analyte}; use one of {allowed}; where the file is wrong, say unit (and method) \
         of the column in the plan"
    )]
    UnknownUnit {
        /// The column.
        place: Place,
        /// As written.
        unit: String,
        /// The analyte.
        analyte: String,
        /// What is accepted.
        allowed: String,
    },
    /// A unit that cannot be turned into the canonical one with what is known.
    #[error("{place}: {analyte} in {unit} cannot be turned into {canonical}: {why}; {help}")]
    NotConvertible {
        /// The column.
        place: Place,
        /// The analyte.
        analyte: String,
        /// As written.
        unit: String,
        /// The canonical unit.
        canonical: String,
        /// What is missing.
        why: String,
        /// What to do.
        help: String,
    },
    /// A column's own name speaks against what the plan says the column is.
    #[error(
        "{place}: the name says {said}, but the plan says {planned} ({plan}); correct the plan, or, where the plan is right, \
         add sure = true: {line}"
    )]
    NameContradictsPlan {
        /// The column.
        place: Place,
        /// What the name says.
        said: String,
        /// What the plan says.
        planned: String,
        /// Where the plan says it.
        plan: Place,
        /// The plan's line with `sure`.
        line: String,
    },
    /// Two statements of one unit disagree.
    #[error(
        "{place}: the unit is \"{one}\" {one_from} but \"{other}\" {other_from}; correct the one that is wrong{help}"
    )]
    UnitConflict {
        /// The column or cell.
        place: Place,
        /// One unit.
        one: String,
        /// Who says so.
        one_from: &'static str,
        /// The other unit.
        other: String,
        /// Who says so.
        other_from: &'static str,
        /// Another way out, where there is one.
        help: &'static str,
    },
    /// Text where a number belongs.
    #[error("{place}: \"{text}\" is not a number; {help}")]
    NotANumber {
        /// The cell.
        place: Place,
        /// What stands there.
        text: String,
        /// What to do.
        help: String,
    },
    /// No day where one belongs.
    #[error(
        "{place}: \"{text}\" is not a day; write it as 2027-05-12 (or 5/12/2027, month first; 12.5.2027, day first)"
    )]
    NotADay {
        /// The cell.
        place: Place,
        /// What stands there.
        text: String,
    },
    /// No hour of the day where one belongs.
    #[error("{place}: \"{text}\" is not an hour of the day; write it as 10:30 or 2:15 pm")]
    NotAnHour {
        /// The cell.
        place: Place,
        /// What stands there.
        text: String,
    },
    /// A spreadsheet made a date or a time of a text.
    #[error(
        "{place}: \"{text}\" looks like a date or time that a spreadsheet made of something else (6-12 becomes 12-Jun, 1:10 becomes 0.0486); \
         format the column as text and export again"
    )]
    SpreadsheetDate {
        /// The cell.
        place: Place,
        /// What stands there.
        text: String,
    },
    /// Decimal signs that contradict each other or do not tell.
    #[error(
        "{place}: {what}; say decimal = \",\" or \".\" (and thousands, if there is one) for the file or the column in the plan, or write all \
         numbers of the column with one decimal sign"
    )]
    DecimalSign {
        /// The column.
        place: Place,
        /// What was seen.
        what: String,
    },
    /// A number that cannot be what the column says.
    #[error(
        "{place}: {value} {unit} is not possible for {analyte} (possible: {low} to {high} {unit}){hint}"
    )]
    Impossible {
        /// The cell.
        place: Place,
        /// The number in the canonical unit.
        value: String,
        /// Canonical unit.
        unit: String,
        /// The analyte.
        analyte: String,
        /// Least possible.
        low: String,
        /// Most possible.
        high: String,
        /// What it may be instead.
        hint: String,
    },
    /// More of the same in this column.
    #[error("{place}: {count} more of this kind: {what}")]
    More {
        /// The column.
        place: Place,
        /// How many.
        count: usize,
        /// What kind.
        what: &'static str,
    },
    /// A depth that cannot be read.
    #[error("{place}: {what}; {help}")]
    Depth {
        /// The cell or column.
        place: Place,
        /// What was seen.
        what: String,
        /// What to do.
        help: String,
    },
    /// Coordinates that cannot be right.
    #[error("{place}: {what}; {help}")]
    Coordinates {
        /// The file, row and column.
        place: Place,
        /// What was seen.
        what: String,
        /// What to do.
        help: String,
    },
    /// The coordinate system is not known or not usable.
    #[error("{place}: {what}; {help}")]
    CoordinateSystem {
        /// The file.
        place: Place,
        /// What was seen.
        what: String,
        /// What to do.
        help: String,
    },
    /// A shape that cannot be a boundary.
    #[error("{place}: {what}; {help}")]
    Shape {
        /// The file, and the shape's number.
        place: Place,
        /// What was seen.
        what: String,
        /// What to do.
        help: String,
    },
    /// Several shapes and no word which is the field.
    #[error("{place}: {what}; {help}")]
    Choice {
        /// The file.
        place: Place,
        /// What was seen.
        what: String,
        /// What to do.
        help: String,
    },
    /// What a cone file leaves open.
    #[error("{place}: {what}; {help}")]
    Cone {
        /// The file or column.
        place: Place,
        /// What was seen.
        what: String,
        /// What to do.
        help: String,
    },
    /// Results and places that cannot be joined.
    #[error("{place}: {what}; {help}")]
    Join {
        /// The file.
        place: Place,
        /// What was seen.
        what: String,
        /// What to do.
        help: String,
    },
}

impl IntakeError {
    /// Where the problem stands.
    #[must_use]
    pub fn place(&self) -> &Place {
        match self {
            Self::Unreadable { place, .. }
            | Self::OverLimit { place, .. }
            | Self::UnknownFormat { place, .. }
            | Self::Malformed { place, .. }
            | Self::CutOff { place, .. }
            | Self::Nothing { place, .. }
            | Self::MissingColumn { place, .. }
            | Self::Tie { place, .. }
            | Self::NameContradictsPlan { place, .. }
            | Self::UnknownUnit { place, .. }
            | Self::NotConvertible { place, .. }
            | Self::UnitConflict { place, .. }
            | Self::NotANumber { place, .. }
            | Self::NotADay { place, .. }
            | Self::NotAnHour { place, .. }
            | Self::SpreadsheetDate { place, .. }
            | Self::DecimalSign { place, .. }
            | Self::Impossible { place, .. }
            | Self::More { place, .. }
            | Self::Depth { place, .. }
            | Self::Coordinates { place, .. }
            | Self::CoordinateSystem { place, .. }
            | Self::Shape { place, .. }
            | Self::Choice { place, .. }
            | Self::Cone { place, .. }
            | Self::Join { place, .. } => place,
        }
    }
}

/// A text short enough for a message.
pub(super) fn clipped(text: &str) -> String {
    let text = text.trim();
    if text.chars().count() <= 40 {
        text.to_owned()
    } else {
        format!("{}...", text.chars().take(37).collect::<String>())
    }
}
