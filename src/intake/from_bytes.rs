//! The readers on plain bytes, without a file system: for tests, fuzzing and other programs.

use geo::MultiPolygon;

use crate::plan::{FieldChoice, PointsSettings};
use crate::provenance::Place;
use crate::remark::Remark;

use super::boundary::outline_of;
use super::context::{Context, ReadingRules};
use super::error::IntakeError;
use super::formats::read_shapes::shapes_from_bytes;
use super::formats::shapes::{LayerWish, ShapeFormat, shape_format};
use super::read::{is_spreadsheet, is_xml, read_modus, read_sheet};
use super::source::{Source, place_of};
use super::survey::PointTable;
use super::table::delimited::read_delimited;
use super::table::shape_table::table_of_shapes;

/// Reads a table of points from bytes; the extension of `settings.file` says the format. A shapefile is its `.shp`
/// alone, or a zip of all its parts.
///
/// # Errors
/// Everything that is wrong in the bytes.
pub fn points_from_bytes(
    bytes: &[u8],
    settings: &PointsSettings,
    rules: &ReadingRules,
) -> Result<(PointTable, Vec<Remark>), Vec<IntakeError>> {
    let mut context = Context::new(settings, rules);
    let table = match shape_format(&settings.file) {
        Some(format) => match shapes_from_bytes(
            bytes,
            format,
            LayerWish::or(settings.reading.sheet.as_deref(), LayerWish::Points),
            &place_of(&settings.file),
        ) {
            Ok(shapes) => table_of_shapes(&shapes, &mut context),
            Err(error) => {
                context.errors.push(error);
                None
            }
        },
        None if is_spreadsheet(&settings.file) => read_sheet(bytes, &mut context),
        None if is_xml(&settings.file) => read_modus(bytes, &mut context),
        None => read_delimited(Source::Bytes(bytes), &mut context).table,
    };
    match table {
        Some(table) if context.errors.is_empty() => Ok((table, context.remarks)),
        _ => Err(context.errors),
    }
}

/// Reads a field's outline from the bytes of a file.
///
/// # Errors
/// Where the bytes are not of the format, or the shape cannot be a boundary.
pub fn boundary_from_bytes(
    bytes: &[u8],
    format: ShapeFormat,
    choose: Option<&FieldChoice>,
) -> Result<MultiPolygon<f64>, IntakeError> {
    let place = Place::file("boundary");
    outline_of(
        &shapes_from_bytes(bytes, format, LayerWish::Areas, &place)?,
        choose,
        &place,
    )
}
