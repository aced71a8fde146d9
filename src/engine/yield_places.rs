use crate::error::Failure;
use crate::field::WorkingCrs;
use crate::intake::YieldFile;
use crate::trial::TrialError;

/// The places of a yield monitor's file on a field's plane, east and north, row by row; they are taken out of the file's table.
pub(super) fn yield_places(
    crs: &WorkingCrs,
    file: &mut YieldFile,
) -> Result<(Vec<f64>, Vec<f64>), Failure> {
    let mut east = std::mem::take(&mut file.table.x);
    let mut north = std::mem::take(&mut file.table.y);
    crs.project_table(&file.table.crs, &mut east, &mut north)
        .map_err(TrialError::Projection)?;
    Ok((east, north))
}
