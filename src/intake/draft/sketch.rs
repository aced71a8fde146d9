//! The head of a file of points, and what the file is.

use std::path::Path;

use crate::analyte::{Meaning, meaning_of, plain_name};
use crate::files::Files;
use crate::intake::columns::Header;
use crate::intake::columns::depth_mark::depth_mark;
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
    let marks = header
        .names
        .iter()
        .filter(|name| depth_mark(&plain_name(name)).is_some())
        .count();
    let has_resistance = header
        .find_role(&[
            "resistance",
            "cone index",
            "cone_index",
            "penetration resistance",
            "force",
        ])
        .is_some();
    let results = header
        .names
        .iter()
        .filter(|name| matches!(meaning_of(name), Meaning::Result(_) | Meaning::Tie(_)))
        .count();
    let names = roles::RoleNames::built_in();
    let is_long_lab =
        header.find_role(&names.analyte).is_some() && header.find_role(&names.value).is_some();
    if (marks >= 2 && results < 3) || (has_resistance && header.find_role(&["depth"]).is_some()) {
        PointKind::Cone
    } else if rows < 5_000 && (results > 0 || is_long_lab)
        || header.find_coordinate(&names.x).is_none()
    {
        PointKind::Cores
    } else {
        PointKind::Readings
    }
}
