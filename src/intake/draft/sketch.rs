//! The head of a file of points, and what the file is.

use std::path::Path;

use crate::analyte::{Analyte, Meaning, meaning_of};
use crate::files::Files;
use crate::intake::columns::Header;
use crate::intake::columns::reading_column::{column_mark, readings_by_unit};
use crate::intake::columns::roles;
use crate::intake::error::IntakeError;
use crate::intake::formats::read_shapes::read_shapes;
use crate::intake::formats::shapes::{LayerWish, Shape, shape_format};
use crate::intake::formats::spreadsheet::sheet_text;
use crate::intake::read::is_spreadsheet;
use crate::intake::source::{Source, place_of, read_whole};
use crate::intake::table::delimited::read_header;
use crate::intake::table::shape_table::header_of_shapes;
use crate::plan::PointKind;

/// Names of a column of cone readings that mean nothing else.
const RESISTANCE: [&str; 7] = [
    "resistance",
    "cone index",
    "penetration resistance",
    "force",
    "ci",
    "eindringwiderstand",
    "resistencia",
];

/// Letters of a cell that are shown.
const LONGEST_CELL: usize = 40;

/// A file's head, and what it is.
pub(in crate::intake) struct Sketch {
    pub header: Header,
    pub has_geometry: bool,
    /// Whether the file says its coordinate system.
    pub has_crs: bool,
    /// Places of shapes.
    pub points: Vec<(f64, f64)>,
    pub kind: PointKind,
}

/// Reads the head of a file: of its first sheet, or its only layer of points.
pub(in crate::intake) fn sketch(files: &Files, file: &Path) -> Result<Sketch, IntakeError> {
    sketch_of(files, file, None)
}

/// Reads the head of a sheet or a layer of a file.
pub(super) fn sketch_of(
    files: &Files,
    file: &Path,
    part: Option<&str>,
) -> Result<Sketch, IntakeError> {
    if shape_format(file).is_some() {
        let wish = LayerWish::or(part, LayerWish::Points);
        let shapes = read_shapes(files, file, wish, &mut Vec::new())?;
        let header = header_of_shapes(&shapes);
        let kind = kind_of(&header, shapes.list.len());
        return Ok(Sketch {
            header,
            has_geometry: true,
            has_crs: shapes.crs.is_some() || shapes.is_degrees_by_format,
            points: shapes.list.iter().filter_map(Shape::point).collect(),
            kind,
        });
    }
    let header = if is_spreadsheet(file) {
        let bytes = read_whole(files, file, &mut Vec::new())?;
        let sheet = sheet_text(&bytes, part, &place_of(file))?;
        read_header(Source::Bytes(&sheet.text), &place_of(file), 0)?
    } else {
        read_header(Source::File(files, file), &place_of(file), 0)?
    };
    let rows = Source::File(files, file).size().map_or(0, |size| size / 40) as usize;
    let kind = kind_of(&header, rows);
    Ok(Sketch {
        header,
        has_geometry: false,
        has_crs: false,
        points: Vec::new(),
        kind,
    })
}

impl Sketch {
    /// Where its first rows lie, in whatever system.
    pub(super) fn places(&self) -> Vec<(f64, f64)> {
        if self.has_geometry {
            return self.points.clone();
        }
        let names = roles::RoleNames::built_in();
        let column = |names: &[String]| self.header.find_coordinate(names);
        match (column(&names.x), column(&names.y)) {
            (Some(x), Some(y)) => self.header.number_pairs(x, y),
            _ => Vec::new(),
        }
    }
}

/// Cone where there are depth marks or a depth with a resistance; cores where the catalogue knows results; else readings.
fn kind_of(header: &Header, rows: usize) -> PointKind {
    let columns = || 0..header.names.len();
    let marks = columns()
        .filter(|at| column_mark(header, *at).is_some())
        .count();
    let results = |is_soil_only: bool| {
        let is_result = |at: &usize| match meaning_of(header.bare_name(*at)) {
            Meaning::Result(found) => {
                !is_soil_only || !matches!(found.analyte, Analyte::ConeIndex | Analyte::Moisture)
            }
            Meaning::Tie(_) => true,
            _ => false,
        };
        columns().filter(is_result).count()
    };
    let names = roles::RoleNames::built_in();
    let is_long_lab =
        header.find_role(&names.analyte).is_some() && header.find_role(&names.value).is_some();
    if (marks >= 2 && results(true) < 3) || (is_long_cone(header) && results(true) == 0) {
        PointKind::Cone
    } else if rows < 5_000 && (results(false) > 0 || is_long_lab)
        || header.find_coordinate(&names.x).is_none()
    {
        PointKind::Cores
    } else {
        PointKind::Readings
    }
}

/// Whether each row is one reading at one depth.
fn is_long_cone(header: &Header) -> bool {
    let names = roles::RoleNames::built_in();
    let is_reading = |at: usize| matches!(meaning_of(header.name(at)), Meaning::Result(found) if found.analyte == Analyte::ConeIndex);
    let reading = header
        .find_role(&RESISTANCE)
        .or_else(|| (0..header.names.len()).find(|at| is_reading(*at)))
        .or_else(|| readings_by_unit(header));
    let depth = header.find_role(&names.depth);
    reading.is_some() && depth.is_some_and(|at| Some(at) != reading && header.is_numeric(at))
}

/// A column of a file as its first rows show it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnHead {
    /// Its name, trimmed; repeated names are numbered.
    pub name: String,
    /// What a row of units says of it.
    pub unit: Option<String>,
    /// Some of its values, each once, in the order of the file.
    pub values: Vec<String>,
}

/// The columns of a file, or of one of its sheets or layers, with at most `most` values of each.
///
/// # Errors
/// Where the file cannot be read.
pub fn column_heads(
    files: &Files,
    file: &Path,
    part: Option<&str>,
    most: usize,
) -> Result<Vec<ColumnHead>, IntakeError> {
    let header = sketch_of(files, file, part)?.header;
    let head = |(at, name): (usize, &String)| {
        let mut values: Vec<String> = Vec::new();
        for cell in header.sample.iter().filter_map(|row| row.get(at)) {
            let cell = cell.trim();
            let is_new = !cell.is_empty() && values.iter().all(|known| known != cell);
            if is_new && values.len() < most {
                values.push(cell.chars().take(LONGEST_CELL).collect());
            }
        }
        ColumnHead {
            name: name.clone(),
            unit: header.unit(at).map(str::to_owned),
            values,
        }
    };
    Ok(header.names.iter().enumerate().map(head).collect())
}
