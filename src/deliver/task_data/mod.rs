//! `controller/taskdata.zip`: ISO 11783-10 task data, one task per product.

mod card;
mod document;
mod raster;
mod setpoint;

use std::io::{Cursor, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::degrees::from_plane;
use super::error::DeliverError;
use super::format_input::FormatInput;
use super::options::TaskDataForm;
use super::output_file::OutputFile;
use document::{LAST_CODE, document};
use raster::Raster;

pub use card::{CardField, CardPiece, CardProduct, setpoint_steps};
pub use document::{LONGEST_NAME, Layout};
pub use setpoint::Setpoint;

/// Path of the package in the output folder.
pub const PATH: &str = "controller/taskdata.zip";
/// Light compression: the card's size does not matter, the user's time does.
const LEVEL: i64 = 1;

/// The package.
///
/// # Errors
/// Where the boundary cannot be brought to degrees or the archive cannot be made.
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let field = input.overview.stages.field;
    let boundary =
        from_plane(&field.crs, &field.workable).map_err(|cause| failed(cause.to_string()))?;
    let card = CardField::of_run(input.overview, boundary);
    let layout = layout(&card, input.options.task_data)?;
    let bytes = package(&[(card, layout)])?;
    Ok(vec![OutputFile::new(PATH, bytes)])
}

/// Where a field's rates are: in polygons, unless another form is asked for or there are more parts than codes.
///
/// # Errors
/// Where a grid is needed and there is no zone.
pub fn layout(field: &CardField, form: TaskDataForm) -> Result<Layout, DeliverError> {
    let raster = || {
        let pieces: Vec<_> = field.pieces.iter().map(|piece| &piece.parts[..]).collect();
        Raster::new(&pieces, field.cell_m).ok_or_else(|| failed("there is no zone"))
    };
    Ok(match form {
        TaskDataForm::Polygons if field.parts().count() <= LAST_CODE => Layout::Polygons,
        TaskDataForm::Polygons if field.pieces.len() <= LAST_CODE => Layout::Codes(raster()?),
        _ => Layout::Rates(raster()?),
    })
}

/// The archive of some fields.
///
/// # Errors
/// Where the archive cannot be made.
pub fn package(fields: &[(CardField, Layout)]) -> Result<Vec<u8>, DeliverError> {
    let text = document(fields);
    let mut grids = Vec::new();
    let mut task = 0;
    for (field, layout) in fields {
        for product in &field.products {
            task += 1;
            match layout {
                Layout::Polygons => {}
                Layout::Codes(raster) => {
                    grids.push((task, raster.zone.iter().map(|&zone| zone as u8).collect()));
                }
                Layout::Rates(raster) => grids.push((task, rates(raster, product))),
            }
        }
    }
    archive(&text, &grids).map_err(|cause| failed(cause.to_string()))
}

fn failed(cause: impl Into<String>) -> DeliverError {
    DeliverError::Package {
        path: PATH,
        cause: cause.into(),
    }
}

/// Rates of one product in every cell, four bytes each.
fn rates(raster: &Raster, product: &CardProduct) -> Vec<u8> {
    let steps: Vec<[u8; 4]> = std::iter::once(&0)
        .chain(&product.steps)
        .map(|steps| steps.to_le_bytes())
        .collect();
    raster
        .zone
        .iter()
        .flat_map(|&zone| steps[usize::from(zone)])
        .collect()
}

fn archive(text: &str, grids: &[(usize, Vec<u8>)]) -> zip::result::ZipResult<Vec<u8>> {
    // The same bytes on every day and system.
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .compression_level(Some(LEVEL))
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644);
    let mut zip = ZipWriter::new(Cursor::new(Vec::with_capacity(64 * 1024)));
    zip.start_file("TASKDATA/TASKDATA.XML", options)?;
    zip.write_all(text.as_bytes())?;
    for (task, grid) in grids {
        zip.start_file(format!("TASKDATA/GRD{task:05}.bin"), options)?;
        zip.write_all(grid)?;
    }
    Ok(zip.finish()?.into_inner())
}
