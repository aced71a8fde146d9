use super::yield_places::yield_places;
use crate::error::Failure;
use crate::field::Field;
use crate::files::Files;
use crate::intake::{self, InputFile};
use crate::plan::Settings;
use crate::trial::EarlierHarvest;

/// Reads the earlier harvest that a plan names for its check strips, and records it among the inputs.
pub(super) fn earlier_harvest(
    files: &Files,
    settings: &Settings,
    field: &Field,
    inputs: &mut Vec<InputFile>,
) -> Result<Option<EarlierHarvest>, Failure> {
    let named = settings.strips.as_ref();
    let Some(named) = named.and_then(|strips| strips.earlier_harvest.as_ref()) else {
        return Ok(None);
    };
    let mut file = intake::read_yield_file(
        files,
        &named.file,
        &named.columns,
        None,
        (&settings.crop, settings.season),
        intake::HARVEST_COLUMNS,
    )?;
    inputs.append(&mut file.inputs);
    let (east, north) = yield_places(&field.crs, &mut file)?;
    Ok(Some(EarlierHarvest { file, east, north }))
}
