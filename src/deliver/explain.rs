use std::fs;
use std::path::Path;

use super::error::DeliverError;
use super::report_text::zone_text;
use super::review::ZoneReview;
use super::run_record::{PROGRAM, RUN_FILE, ReadRecord};
use super::staging;

/// One zone's reasons in full, from the folder of a finished run.
///
/// # Errors
/// Where the folder holds no run of ours, or the run has no such zone.
pub fn explain(dir: &Path, zone: u32) -> Result<String, DeliverError> {
    Ok(zone_text(&zone_review(dir, zone)?))
}

/// The same as values, for machines.
///
/// # Errors
/// As [`explain`].
pub fn zone_review(dir: &Path, zone: u32) -> Result<ZoneReview, DeliverError> {
    staging::restore(dir);
    let path = dir.join(RUN_FILE);
    let failed = |cause: String| DeliverError::Read {
        path: path.clone(),
        cause,
    };
    let bytes = fs::read(&path).map_err(|cause| failed(cause.to_string()))?;
    let record: ReadRecord = serde_json::from_slice(&bytes)
        .map_err(|cause| failed(format!("it is not a record of a run ({cause})")))?;
    if record.program != PROGRAM {
        return Err(failed(format!(
            "it was written by \"{}\"",
            crate::text::one_line(&record.program)
        )));
    }
    let last = record.review.len();
    let found = record.review.into_iter().find(|review| review.zone == zone);
    found.ok_or_else(|| DeliverError::NoSuchZone {
        zone,
        folder: dir.to_owned(),
        last,
    })
}
