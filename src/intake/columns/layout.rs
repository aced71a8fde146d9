//! How a file is laid out: separator, title lines, header row, units row. Decided from its first rows.

use crate::analyte::{DepthRange, Meaning, meaning_of, plain_name, units_cell};
use crate::intake::columns::Header;
use crate::intake::columns::depth_mark::depth_mark;
use crate::intake::columns::roles;

use crate::intake::formats::delimited::{Dialect, RowReader, text_of};

/// Rows that are looked at.
const LOOKED_AT: usize = 60;
/// Rows of units and methods under a header.
const MOST_UNITS_ROWS: usize = 2;

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
/// The header stands below the first `skipped` rows.
pub(in crate::intake) fn find_layout(head: &[u8], wanted: &[&str], skipped: u32) -> Option<Layout> {
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
    let above = rows.iter().take_while(|(row, _)| *row <= skipped).count();
    let skip = usize::from(hint.is_some()).max(above);
    let at = header_at(&rows, skip, wanted)?;
    let (header_row, mut names) = rows.get(at)?.clone();
    // Methods and units may stand in two rows.
    let units: Vec<&TextRow> = rows
        .iter()
        .skip(at + 1)
        .take_while(|(_, cells)| is_units_row(cells, &names))
        .take(MOST_UNITS_ROWS)
        .collect();
    let units_row = units.first().map(|(row, _)| *row);
    let last_head_row = units.last().map_or(header_row, |(row, _)| *row);
    let unit_cells = joined(&units);
    let above = at.checked_sub(1).filter(|above| *above >= skip);
    if let Some((_, band)) = above.and_then(|above| rows.get(above)) {
        add_depths(&mut names, band);
    }
    let first_data = at + 1 + units.len();
    let sample = rows
        .iter()
        .skip(first_data)
        .map(|(_, cells)| cells.clone())
        .collect();
    let header = Header::new(&names, unit_cells, sample);
    Some(Layout {
        dialect,
        header,
        last_head_row,
        header_row,
        units_row,
        is_latin,
    })
}

/// Adds the depths of a row above the names, as laboratories write them over a group of columns: each holds up to the next cell that is
/// not blank. One depth alone is a title and no band.
fn add_depths(names: &mut [String], band: &[String]) {
    let depth = |cell: &String| DepthRange::parse(cell, None).is_ok();
    if band.iter().filter(|cell| depth(cell)).count() < 2 {
        return;
    }
    let mut current: Option<&String> = None;
    for (name, cell) in names
        .iter_mut()
        .zip(band.iter().chain(std::iter::repeat(&String::new())))
    {
        if !cell.trim().is_empty() {
            current = Some(cell).filter(|cell| depth(cell));
        }
        if let (Some(depth), false) = (current, name.trim().is_empty()) {
            *name = format!("{} {}", name.trim(), depth.trim());
        }
    }
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

/// The cells of rows, column by column, with a blank between.
fn joined(rows: &[&TextRow]) -> Vec<String> {
    let width = rows.iter().map(|(_, cells)| cells.len()).max().unwrap_or(0);
    let column = |at: usize| {
        let cells = rows.iter().filter_map(|(_, cells)| cells.get(at));
        let filled = cells
            .map(|cell| cell.trim())
            .filter(|cell| !cell.is_empty());
        filled.collect::<Vec<_>>().join(" ")
    };
    (0..width).map(column).collect()
}

/// A row under the header without a number, in which units or methods stand.
fn is_units_row(cells: &[String], names: &[String]) -> bool {
    let filled: Vec<(usize, &String)> = cells
        .iter()
        .enumerate()
        .filter(|(_, cell)| !cell.trim().is_empty())
        .collect();
    let is_number = |cell: &str| cell.trim().replace(',', ".").parse::<f64>().is_ok();
    if filled.is_empty() || filled.iter().any(|(_, cell)| is_number(cell)) {
        return false;
    }
    let says_units = cells.first().is_some_and(|cell| {
        matches!(
            plain_name(cell).as_str(),
            "units" | "unit" | "einheit" | "method" | "methods" | "methode"
        )
    });
    let units = filled
        .iter()
        .filter(|(at, cell)| holds_unit(cell) || is_method_of(names.get(*at), cell))
        .count();
    says_units || units * 2 > filled.len()
}

/// Whether a word of a cell is a unit: `kg/ha P2O5` is one that must not be passed over, even where the rest of it is not understood.
fn holds_unit(cell: &str) -> bool {
    let is_long = |word: &&str| word.contains('/') || word.len() > 2;
    roles::is_unit_text(cell)
        || cell
            .split_whitespace()
            .filter(is_long)
            .any(roles::is_unit_text)
}

/// Whether a cell says a method of the analyte that its column's name says.
fn is_method_of(name: Option<&String>, cell: &str) -> bool {
    name.is_some_and(|name| match meaning_of(name) {
        Meaning::Result(found) => units_cell(&found.analyte, cell)
            .is_some_and(|cell| cell.unit.is_some() || cell.method.is_some()),
        _ => false,
    })
}

#[cfg(test)]
#[path = "layout_tests.rs"]
mod tests;
