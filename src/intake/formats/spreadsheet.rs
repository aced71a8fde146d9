//! A sheet of a spreadsheet as the text of a table, so that one reader reads both.
//!
//! # Source
//! ECMA-376, Office Open XML, part 1, clause 18; read with the `calamine` crate.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::io::{Cursor, Read};
use std::panic::{AssertUnwindSafe, catch_unwind};

use calamine::{DataRef, Reader, Style, Xlsx, open_workbook_from_rs};
use zip::ZipArchive;

use crate::intake::error::IntakeError;
use crate::intake::source::LARGEST_WHOLE;
use crate::provenance::Place;
use crate::units::decimal;

/// Most cells of a sheet.
const MOST_CELLS: usize = 10_000_000;
/// Most columns and rows that are written, empty ones included.
const MOST_COLUMNS: u32 = 4_096;
/// Most rows.
const MOST_ROWS: u32 = 1_048_576;

/// A sheet as text.
#[derive(Debug)]
pub(in crate::intake) struct SheetText {
    /// The cells, comma between, in the sheet's own rows.
    pub text: Vec<u8>,
    /// The sheet.
    pub sheet: String,
    /// The other sheets, which are not read.
    pub others: Vec<String>,
    /// Cells that are shown as percent: their number is a share, and what is shown is read.
    pub percent_cells: usize,
    /// Rows whose cell was merged with the one above, so that its value holds for them too.
    pub merged_rows: usize,
}

/// The names of the sheets, in their order.
pub(in crate::intake) fn sheet_names(
    bytes: &[u8],
    place: &Place,
) -> Result<Vec<String>, IntakeError> {
    check_unpacked_size(bytes, place)?;
    guarded(place, || {
        let book: Xlsx<_> =
            open_workbook_from_rs(Cursor::new(bytes)).map_err(|error| malformed(place, &error))?;
        Ok(book.sheet_names())
    })
}

/// A check inside the library that ends in a panic becomes an error here: a damaged file is the user's to put right.
fn guarded<T>(
    place: &Place,
    read: impl FnOnce() -> Result<T, IntakeError>,
) -> Result<T, IntakeError> {
    catch_unwind(AssertUnwindSafe(read))
        .unwrap_or_else(|_| Err(malformed(place, &"its parts contradict each other")))
}

/// Reads the sheet of a name, or the first one.
pub(in crate::intake) fn sheet_text(
    bytes: &[u8],
    wanted: Option<&str>,
    place: &Place,
) -> Result<SheetText, IntakeError> {
    check_unpacked_size(bytes, place)?;
    guarded(place, || whole_sheet(bytes, wanted, place))
}

fn whole_sheet(
    bytes: &[u8],
    wanted: Option<&str>,
    place: &Place,
) -> Result<SheetText, IntakeError> {
    let mut book: Xlsx<_> =
        open_workbook_from_rs(Cursor::new(bytes)).map_err(|error| malformed(place, &error))?;
    let mut others = book.sheet_names();
    let at = match wanted {
        None => 0,
        Some(name) => others.iter().position(|own| own == name).ok_or_else(|| {
            let names: Vec<String> = others.iter().map(|own| format!("\"{own}\"")).collect();
            IntakeError::Choice {
                place: place.clone(),
                what: format!("there is no sheet \"{name}\""),
                help: format!("its sheets are {}", names.join(", ")),
            }
        })?,
    };
    if others.is_empty() {
        return Err(malformed(place, &"it holds no sheet"));
    }
    let sheet = others.remove(at);
    check_formulas(&mut book, &sheet, place)?;
    let mut cells = cells_of(&mut book, &sheet, place)?;
    let merged_rows = fill_merged(&mut book, &sheet, &mut cells.by_place);
    Ok(SheetText {
        text: joined(&cells.by_place),
        sheet,
        others,
        percent_cells: cells.percent,
        merged_rows,
    })
}

/// Cells as text, by row and column.
type CellTexts = BTreeMap<(u32, u32), String>;

/// The cells of a sheet.
struct Cells {
    by_place: CellTexts,
    /// How many are shown as percent.
    percent: usize,
}

/// Gives every row of a cell that is merged downwards its value: one sample's name over its depths. A merged title across columns
/// stays where it is.
fn fill_merged<R: Read + std::io::Seek>(
    book: &mut Xlsx<R>,
    sheet: &str,
    cells: &mut CellTexts,
) -> usize {
    let last_row = cells.keys().next_back().map_or(0, |(row, _)| *row);
    // Without a readable list of merged cells the cells stand as they are.
    let regions = book.merge_cells_by_sheet_name(sheet).unwrap_or_default();
    let mut filled = 0;
    for region in regions
        .iter()
        .filter(|region| region.start.1 == region.end.1)
    {
        let Some(text) = cells.get(&region.start).cloned() else {
            continue;
        };
        for row in region.start.0 + 1..=region.end.0.min(last_row) {
            if filled < MOST_ROWS as usize && !cells.contains_key(&(row, region.start.1)) {
                cells.insert((row, region.start.1), text.clone());
                filled += 1;
            }
        }
    }
    filled
}

fn malformed(place: &Place, error: &dyn std::fmt::Display) -> IntakeError {
    IntakeError::Malformed {
        place: place.clone(),
        format: "a spreadsheet (.xlsx)",
        what: error.to_string(),
    }
}

/// Unpacks the file once into nothing: what it says of its own size may be false.
fn check_unpacked_size(bytes: &[u8], place: &Place) -> Result<(), IntakeError> {
    let mut zip = ZipArchive::new(Cursor::new(bytes)).map_err(|error| malformed(place, &error))?;
    let mut room = LARGEST_WHOLE;
    for at in 0..zip.len() {
        let file = zip.by_index(at).map_err(|error| malformed(place, &error))?;
        let size = std::io::copy(&mut file.take(room + 1), &mut std::io::sink())
            .map_err(|error| malformed(place, &error))?;
        room = room
            .checked_sub(size)
            .ok_or_else(|| IntakeError::OverLimit {
                place: place.clone(),
                what: "the unpacked size".to_owned(),
                limit: format!("{LARGEST_WHOLE} bytes"),
            })?;
    }
    Ok(())
}

/// Refuses formulas whose value the file does not store: read as blanks they would be lost without a word.
fn check_formulas<R: std::io::Read + std::io::Seek>(
    book: &mut Xlsx<R>,
    sheet: &str,
    place: &Place,
) -> Result<(), IntakeError> {
    /// Rows that are named.
    const MOST_NAMED: usize = 5;
    let Ok(formulas) = book.worksheet_formula(sheet) else {
        return Ok(());
    };
    let start = formulas.start().unwrap_or_default();
    let mut open: BTreeSet<(u32, u32)> = formulas
        .used_cells()
        .filter(|(_, _, formula)| !formula.is_empty())
        .map(|(row, column, _)| (start.0 + row as u32, start.1 + column as u32))
        .collect();
    if open.is_empty() {
        return Ok(());
    }
    let mut reader = book
        .worksheet_cells_reader(sheet)
        .map_err(|error| malformed(place, &error))?;
    while let Some(cell) = reader
        .next_cell()
        .map_err(|error| malformed(place, &error))?
    {
        if !matches!(cell.get_value(), DataRef::Empty) {
            open.remove(&cell.get_position());
        }
    }
    if open.is_empty() {
        return Ok(());
    }
    let mut rows: Vec<u32> = open.iter().map(|(row, _)| row + 1).collect();
    rows.dedup();
    let more = if rows.len() > MOST_NAMED {
        " and more"
    } else {
        ""
    };
    let named: Vec<String> = rows.iter().take(MOST_NAMED).map(u32::to_string).collect();
    let what = format!(
        "{} cell(s) hold a formula whose value the file does not store (rows {}{more}); open it in a spreadsheet program, save it, and read it again",
        open.len(),
        named.join(", ")
    );
    Err(malformed(place, &what))
}

fn cells_of<R: Read + std::io::Seek>(
    book: &mut Xlsx<R>,
    sheet: &str,
    place: &Place,
) -> Result<Cells, IntakeError> {
    let too_large = || IntakeError::OverLimit {
        place: place.clone(),
        what: "the size of the sheet".to_owned(),
        limit: format!("{MOST_CELLS} cells, {MOST_COLUMNS} columns, {MOST_ROWS} rows"),
    };
    let mut reader = book
        .worksheet_cells_reader(sheet)
        .map_err(|error| malformed(place, &error))?;
    let is_percent: Vec<bool> = reader.styles().iter().map(is_percent).collect();
    // Cells may stand in any order in a damaged file; the map puts them in that of the sheet.
    let mut cells = Cells {
        by_place: BTreeMap::new(),
        percent: 0,
    };
    while let Some((cell, style)) = reader
        .next_cell_with_style_id()
        .map_err(|error| malformed(place, &error))?
    {
        let (row, column) = cell.get_position();
        let is_share = is_percent.get(style).is_some_and(|is_percent| *is_percent);
        let (text, is_shown_as_percent) = match cell.get_value() {
            DataRef::Float(share) if is_share => (hundredfold(*share), true),
            DataRef::Int(share) if is_share => (hundredfold(*share as f64), true),
            value => (cell_text(value), false),
        };
        if text.is_empty() {
            continue;
        }
        if row >= MOST_ROWS || column >= MOST_COLUMNS || cells.by_place.len() >= MOST_CELLS {
            return Err(too_large());
        }
        cells.percent += usize::from(is_shown_as_percent);
        cells.by_place.insert((row, column), text);
    }
    Ok(cells)
}

/// Whether cells of a style are shown as percent: the number is a share, the sheet shows a hundred times as much.
fn is_percent(style: &Style) -> bool {
    let format = style.number_format.as_ref();
    format.is_some_and(|format| {
        // What stands in quotes is shown as it is.
        let bare = format.format_code.split('"').step_by(2);
        bare.into_iter().any(|code| code.contains('%')) || matches!(format.format_id, Some(9 | 10))
    })
}

/// What a sheet shows of a share in percent, without the crumbs of the multiplication.
fn hundredfold(share: f64) -> String {
    decimal(share * 100.0, 10)
}

/// The cells as text with commas between; a row of the sheet is a line, so that rows keep their numbers.
fn joined(cells: &CellTexts) -> Vec<u8> {
    let width = cells
        .keys()
        .map(|(_, column)| column + 1)
        .max()
        .unwrap_or(0);
    let mut out = String::new();
    let (mut row, mut column) = (0, 0);
    for ((to_row, to_column), text) in cells {
        while row < *to_row {
            // A row as wide as the others, so that none looks cut off.
            if column > 0 {
                (column + 1..width).for_each(|_| out.push(','));
            }
            out.push('\n');
            (row, column) = (row + 1, 0);
        }
        while column < *to_column {
            out.push(',');
            column += 1;
        }
        let clean = text.replace(['\n', '\r'], " ").replace('"', "\"\"");
        let _ = write!(out, "\"{clean}\"");
    }
    (column + 1..width).for_each(|_| out.push(','));
    out.push('\n');
    out.into_bytes()
}

fn cell_text(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Empty => String::new(),
        DataRef::Int(number) => number.to_string(),
        DataRef::Float(number) => number.to_string(),
        DataRef::String(text) => text.clone(),
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(word) => word.to_string(),
        DataRef::DateTime(date) if date.is_duration() => date.as_f64().to_string(),
        DataRef::DateTime(date) => {
            let (year, month, day, ..) = date.to_ymd_hms_milli();
            format!("{year:04}-{month:02}-{day:02}")
        }
        DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => text.clone(),
        DataRef::Error(error) => error.to_string(),
    }
}
