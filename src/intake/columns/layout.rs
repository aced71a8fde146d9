//! How a file is laid out: separator, title lines, header row, units row. Decided from its first rows.

use crate::analyte::{Meaning, meaning_of, plain_name};
use crate::intake::columns::Header;
use crate::intake::columns::depth_mark::depth_mark;
use crate::intake::columns::roles;

use crate::intake::formats::delimited::{Dialect, RowReader, text_of};

/// Rows that are looked at.
const LOOKED_AT: usize = 60;

/// What the first rows show.
#[derive(Debug)]
pub(in crate::intake) struct Layout {
    /// How the file is cut.
    pub dialect: Dialect,
    /// The header.
    pub header: Header,
    /// Number of the last row before the data.
    pub last_head_row: u32,
    /// Number of the header row.
    pub header_row: u32,
    /// Number of the units row, where there is one.
    pub units_row: Option<u32>,
    /// Whether the header is not UTF-8.
    pub is_latin: bool,
}

/// Row number and cells.
type TextRow = (u32, Vec<String>);

/// Finds the layout; `wanted` are the column names that the plan uses. `None` where no row looks like a header.
pub(in crate::intake) fn find_layout(head: &[u8], wanted: &[&str]) -> Option<Layout> {
    let line_end = if !head.contains(&b'\n') && head.contains(&b'\r') {
        b'\r'
    } else {
        b'\n'
    };
    let (hint, rest) = separator_hint(head, line_end);
    let separator = hint.unwrap_or_else(|| best_separator(rest, line_end, wanted));
    let dialect = Dialect {
        separator,
        line_end,
    };
    let mut is_latin = false;
    let rows = first_rows(head, dialect, &mut is_latin);
    let skip = usize::from(hint.is_some());
    let at = header_at(&rows, skip, wanted)?;
    let (header_row, names) = rows.get(at)?.clone();
    let units = rows.get(at + 1).filter(|(_, cells)| is_units_row(cells));
    let units_row = units.map(|(row, _)| *row);
    let unit_cells = units.map(|(_, cells)| cells.clone()).unwrap_or_default();
    let first_data = at + 1 + usize::from(units_row.is_some());
    let sample = rows
        .iter()
        .skip(first_data)
        .map(|(_, cells)| cells.clone())
        .collect();
    let header = Header::new(&names, unit_cells, sample);
    Some(Layout {
        dialect,
        header,
        last_head_row: units_row.unwrap_or(header_row),
        header_row,
        units_row,
        is_latin,
    })
}

/// `sep=;` in the first line.
fn separator_hint(head: &[u8], line_end: u8) -> (Option<u8>, &[u8]) {
    let end = head
        .iter()
        .position(|&byte| byte == line_end)
        .unwrap_or(head.len());
    let line = head.get(..end).unwrap_or_default().trim_ascii();
    let hint = line.strip_prefix(b"\"").unwrap_or(line);
    match hint.get(..4).map(<[u8]>::to_ascii_lowercase).as_deref() {
        Some(b"sep=") => (
            hint.get(4).copied(),
            head.get(end + 1..).unwrap_or_default(),
        ),
        _ => (None, head),
    }
}

fn first_rows(head: &[u8], dialect: Dialect, is_latin: &mut bool) -> Vec<TextRow> {
    let mut rows = RowReader::new(head, dialect);
    let mut out = Vec::new();
    while out.len() < LOOKED_AT {
        let Ok(Some(row)) = rows.next_row() else {
            break;
        };
        let cells = (0..row.len())
            .map(|at| {
                let (text, latin) = text_of(row.cell(at));
                *is_latin |= latin;
                text.into_owned()
            })
            .collect();
        out.push((row.number, cells));
    }
    out
}

/// The separator that cuts the most of the first rows into the same number of cells; names of columns break a tie.
fn best_separator(head: &[u8], line_end: u8, wanted: &[&str]) -> u8 {
    let score = |separator: u8| {
        let rows = first_rows(
            head,
            Dialect {
                separator,
                line_end,
            },
            &mut false,
        );
        let counts: Vec<usize> = rows
            .iter()
            .map(|(_, cells)| cells.len())
            .filter(|&count| count > 1)
            .collect();
        let at_mode = counts
            .iter()
            .map(|count| counts.iter().filter(|other| *other == count).count())
            .max()
            .unwrap_or(0);
        let known = rows
            .iter()
            .map(|(_, cells)| known_names(cells, wanted))
            .max()
            .unwrap_or(0);
        let share = if at_mode * 2 > rows.len() {
            2
        } else {
            usize::from(at_mode > 0)
        };
        (share, known, at_mode)
    };
    let candidates = [b'\t', b';', b'|', b','];
    candidates
        .into_iter()
        .max_by_key(|&separator| score(separator))
        .unwrap_or(b',')
}

/// How many cells of a row are names that mean something here.
fn known_names(cells: &[String], wanted: &[&str]) -> usize {
    cells
        .iter()
        .filter(|cell| is_known_name(cell, wanted))
        .count()
}

fn is_known_name(cell: &str, wanted: &[&str]) -> bool {
    let plain = plain_name(cell);
    !plain.is_empty()
        && plain.parse::<f64>().is_err()
        && (wanted.iter().any(|name| plain_name(name) == plain)
            || roles::is_role_name(&plain)
            || depth_mark(&plain).is_some()
            || !matches!(meaning_of(cell), Meaning::Unknown))
}

/// The first row with three known names; else the row with the most; else the first full row without numbers.
fn header_at(rows: &[TextRow], skip: usize, wanted: &[&str]) -> Option<usize> {
    let known: Vec<usize> = rows
        .iter()
        .map(|(_, cells)| known_names(cells, wanted))
        .collect();
    let candidates = || {
        (skip..rows.len()).filter(|&at| {
            rows.get(at)
                .is_some_and(|(_, cells)| cells.len() > 1 && !has_number(cells))
        })
    };
    let enough = candidates().find(|&at| known.get(at).is_some_and(|&count| count >= 3));
    let most = || {
        candidates()
            .filter(|&at| known.get(at).is_some_and(|&count| count > 0))
            .max_by_key(|&at| (known.get(at), rows.len() - at))
    };
    let widest = rows.iter().map(|(_, cells)| cells.len()).max().unwrap_or(0);
    let first_text = || {
        candidates().find(|&at| {
            rows.get(at).is_some_and(|(_, cells)| {
                cells.len() == widest && cells.iter().all(|c| !c.trim().is_empty())
            })
        })
    };
    enough.or_else(most).or_else(first_text)
}

/// A header may hold depth marks such as `6`; a row of data holds numbers with coordinates among them.
fn has_number(cells: &[String]) -> bool {
    cells
        .iter()
        .filter(|cell| {
            cell.trim()
                .parse::<f64>()
                .is_ok_and(|number| number.fract() != 0.0)
        })
        .count()
        > 1
}

/// A row under the header without a number, in which units stand.
fn is_units_row(cells: &[String]) -> bool {
    let filled: Vec<&String> = cells
        .iter()
        .filter(|cell| !cell.trim().is_empty())
        .collect();
    let has_digits = |cell: &&&String| cell.trim().replace(',', ".").parse::<f64>().is_ok();
    if filled.is_empty() || filled.iter().any(|cell| has_digits(&cell)) {
        return false;
    }
    let says_units = cells
        .first()
        .is_some_and(|cell| matches!(plain_name(cell).as_str(), "units" | "unit" | "einheit"));
    let units = filled
        .iter()
        .filter(|cell| roles::is_unit_text(cell))
        .count();
    says_units || units * 2 > filled.len()
}

#[cfg(test)]
#[path = "layout_tests.rs"]
mod tests;
