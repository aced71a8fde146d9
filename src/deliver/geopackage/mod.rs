//! `maps.gpkg`: zones, cores, cone pushes, keep-outs and boundary in one file for GIS programs, with the style in which to show them.
//!
//! ```text
//! Overview -> contents (tables of features) -> database (SQL) -> bytes
//!                          \-> style -> sld, qml
//! ```
//!
//! # Source
//! OGC GeoPackage Encoding Standard 1.3.1 (OGC 12-128r18); OGC Styled Layer Descriptor 1.0.0 (OGC 02-070).

mod blob;
mod contents;
mod database;
mod points;
mod qml;
mod sld;
mod style;
mod table;

pub use style::Style;
pub use table::{Cell, Column, Feature, Features, Kind, Shape, Table};

use super::error::DeliverError;
use super::format_input::FormatInput;
use super::output_file::OutputFile;
use super::overview::Overview;

/// Path of the file in the output folder.
const PATH: &str = "maps.gpkg";

/// The file.
///
/// # Errors
/// Where a place cannot be brought to degrees, or SQLite refuses a table.
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let bytes = package(input.overview)?;
    Ok(vec![OutputFile::new(PATH, bytes)])
}

fn package(overview: &Overview<'_>) -> Result<Vec<u8>, DeliverError> {
    let tables = contents::tables(overview).map_err(failed)?;
    database::bytes(&tables, overview.stages.settings.season).map_err(failed)
}

/// A GeoPackage of any tables.
///
/// # Errors
/// What SQLite says where it refuses one.
pub fn bytes_of(tables: &[Table<'_>], season: u16) -> Result<Vec<u8>, String> {
    database::bytes(tables, season).map_err(|cause| cause.to_string())
}

fn failed(cause: impl ToString) -> DeliverError {
    DeliverError::Package {
        path: PATH,
        cause: cause.to_string(),
    }
}
