//! `season.json`: what a later season needs to compare itself with this one. It carries the checksum of its own text.

use super::error::DeliverError;
use super::format_input::FormatInput;
use super::output_file::OutputFile;
use super::overview::Overview;
use super::run_record::{PROGRAM, VERSION, plain_json};
use crate::files::with_checksum;
use crate::past::{SEASON_FILE, SeasonRecord, SeasonSources};

/// The file.
///
/// # Errors
/// Where the JSON writer refuses a value.
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let failed = |cause: String| DeliverError::Package {
        path: SEASON_FILE,
        cause,
    };
    let bytes = plain_json(&record(input.overview)).map_err(|cause| failed(cause.to_string()))?;
    let text = String::from_utf8(bytes).map_err(|cause| failed(cause.to_string()))?;
    Ok(vec![OutputFile::new(SEASON_FILE, with_checksum(&text))])
}

/// The record of this season.
#[must_use]
pub fn record(overview: &Overview<'_>) -> SeasonRecord {
    let stages = overview.stages;
    let sources = SeasonSources {
        settings: stages.settings,
        field: stages.field,
        zones: stages.zones,
        diagnosis: stages.diagnosis,
        prescription: stages.prescription,
        rulebook: stages.rulebook,
    };
    SeasonRecord::new(sources, (PROGRAM, VERSION))
}
