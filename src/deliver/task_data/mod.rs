//! `controller/taskdata.zip`: ISO 11783-10 task data, one task per product.

mod document;
mod raster;
mod setpoint;

use std::io::{Cursor, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::columns::RateColumn;
use super::degrees::from_plane;
use super::error::DeliverError;
use super::format_input::FormatInput;
use super::options::TaskDataForm;
use super::output_file::OutputFile;
use super::overview::Overview;
use document::{LAST_CODE, Layout, amount, document, numbered};
use raster::Raster;
use setpoint::Setpoint;

/// Path of the package in the output folder.
const PATH: &str = "controller/taskdata.zip";
/// Light compression: the card's size does not matter, the user's time does.
const LEVEL: i64 = 1;

/// The package.
///
/// # Errors
/// Where the boundary cannot be brought to degrees or the archive cannot be made.
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let bytes = package(input.overview, input.options.task_data)?;
    Ok(vec![OutputFile::new(PATH, bytes)])
}

fn package(overview: &Overview<'_>, form: TaskDataForm) -> Result<Vec<u8>, DeliverError> {
    let field = overview.stages.field;
    let boundary =
        from_plane(&field.crs, &field.workable).map_err(|cause| failed(cause.to_string()))?;
    let cell = field.grid.cell;
    let raster = || Raster::new(overview, cell).ok_or_else(|| failed("there is no zone"));
    let is_polygons =
        form == TaskDataForm::Polygons && document::parts(overview).count() <= LAST_CODE;
    let (text, grids) = if is_polygons {
        (document(overview, &boundary, Layout::Polygons), Vec::new())
    } else if form == TaskDataForm::Polygons && overview.pieces.len() <= LAST_CODE {
        let raster = raster()?;
        let codes: Vec<u8> = raster.zone.iter().map(|&zone| zone as u8).collect();
        (
            document(overview, &boundary, Layout::Codes(&raster)),
            vec![codes; numbered(overview).count()],
        )
    } else {
        let raster = raster()?;
        let grids = numbered(overview)
            .map(|(_, column)| rates(overview, &raster, column))
            .collect();
        (document(overview, &boundary, Layout::Rates(&raster)), grids)
    };
    archive(&text, &grids).map_err(|cause| failed(cause.to_string()))
}

fn failed(cause: impl Into<String>) -> DeliverError {
    DeliverError::Package {
        path: PATH,
        cause: cause.into(),
    }
}

/// Rates of one product in every cell, four bytes each.
fn rates(overview: &Overview<'_>, raster: &Raster, column: &RateColumn<'_>) -> Vec<u8> {
    let steps: Vec<[u8; 4]> = std::iter::once(0)
        .chain(
            overview
                .pieces
                .iter()
                .map(|piece| Setpoint::steps(amount(overview, column, piece))),
        )
        .map(i32::to_le_bytes)
        .collect();
    raster
        .zone
        .iter()
        .flat_map(|&zone| steps[usize::from(zone)])
        .collect()
}

fn archive(text: &str, grids: &[Vec<u8>]) -> zip::result::ZipResult<Vec<u8>> {
    // The same bytes on every day and system.
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .compression_level(Some(LEVEL))
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    let mut zip = ZipWriter::new(Cursor::new(Vec::with_capacity(64 * 1024)));
    zip.start_file("TASKDATA/TASKDATA.XML", options)?;
    zip.write_all(text.as_bytes())?;
    for (at, grid) in grids.iter().enumerate() {
        zip.start_file(format!("TASKDATA/GRD{:05}.bin", at + 1), options)?;
        zip.write_all(grid)?;
    }
    Ok(zip.finish()?.into_inner())
}
