//! A small table of text as it is: names and cells, nothing guessed.

use std::io::Read as _;
use std::path::Path;

use super::error::IntakeError;
use super::formats::delimited::{Dialect, RowError, RowReader, Unmarked, text_of};
use super::source::place_of;
use super::table::delimited::refuse_other_formats;
use crate::files::Files;
use crate::provenance::Place;

/// Largest table of that kind, in bytes.
const LARGEST: u64 = 1 << 30;
/// First bytes, by which a separator and other formats are known.
const HEAD: usize = 1 << 14;

/// A table of text.
#[derive(Debug, Clone, PartialEq)]
pub struct TextTable {
    /// The names in its first row that is not blank.
    pub columns: Vec<String>,
    /// Each further row that is not blank: its number in the file, and its cells, one for each column.
    pub rows: Vec<(u32, Vec<String>)>,
}

/// Reads a table whose first row holds names. Cells are trimmed; what stands behind the last name is left out.
///
/// # Errors
/// Where the file cannot be read, is no text, or has a quote that is never closed.
pub fn read_text_table(files: &Files, path: &Path) -> Result<TextTable, IntakeError> {
    let place = place_of(path);
    let unreadable = |cause| IntakeError::Unreadable {
        place: place.clone(),
        cause,
    };
    let size = files.size(path).map_err(unreadable)?;
    if size > LARGEST {
        return Err(super::source::too_large(path, size, LARGEST));
    }
    let mut bytes = Vec::new();
    let reader = files.open(path).and_then(Unmarked::new);
    reader
        .and_then(|mut reader| reader.read_to_end(&mut bytes))
        .map_err(unreadable)?;
    refuse_other_formats(bytes.get(..HEAD).unwrap_or(&bytes), &place)?;
    cut(&bytes, &place)
}

fn cut(bytes: &[u8], place: &Place) -> Result<TextTable, IntakeError> {
    let mut reader = RowReader::of_piece(bytes, dialect(bytes), 0);
    let mut table = TextTable {
        columns: Vec::new(),
        rows: Vec::new(),
    };
    while let Some(row) = reader.next_row().map_err(|cause| not_cut(cause, place))? {
        if row.is_blank() {
            continue;
        }
        let text = |at| text_of(row.cell(at)).0.trim().to_owned();
        if table.columns.is_empty() {
            table.columns = (0..row.len()).map(text).collect();
        } else {
            let cells = (0..table.columns.len()).map(text).collect();
            table.rows.push((row.number, cells));
        }
    }
    Ok(table)
}

/// The separator that the first row has most of.
fn dialect(bytes: &[u8]) -> Dialect {
    let line_end = if !bytes.contains(&b'\n') && bytes.contains(&b'\r') {
        b'\r'
    } else {
        b'\n'
    };
    let first = bytes.split(|byte| *byte == line_end);
    let first = first.into_iter().find(|row| !row.trim_ascii().is_empty());
    let count = |separator: &u8| memchr::memchr_iter(*separator, first.unwrap_or_default()).count();
    let separators = [b'\t', b';', b','];
    let separator = separators.into_iter().max_by_key(count).unwrap_or(b',');
    Dialect {
        separator,
        line_end,
    }
}

fn not_cut(cause: RowError, place: &Place) -> IntakeError {
    let malformed = |row: u32, what: &str| IntakeError::Malformed {
        place: place.clone().at_row(row),
        format: "a table of text",
        what: what.to_owned(),
    };
    match cause {
        RowError::Io(cause) => IntakeError::Unreadable {
            place: place.clone(),
            cause,
        },
        RowError::TooLong(row) => malformed(row, "the row is too long"),
        RowError::TooManyCells(row) => malformed(row, "the row has too many cells"),
        RowError::OpenQuote(row) => malformed(row, "a quote is opened and never closed"),
    }
}
