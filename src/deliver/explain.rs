use std::path::Path;

use super::error::DeliverError;
use super::finished_run::FinishedRun;
use super::report_text::zone_text;
use super::review::ZoneReview;

/// One zone's reasons in full, from the folder of a finished run.
///
/// # Errors
/// Where the folder holds no run of ours, or the run has no such zone.
pub fn explain(dir: &Path, zone: u32) -> Result<String, DeliverError> {
    Ok(zone_in_words(FinishedRun::open(dir)?.zone(zone)?))
}

/// One zone's reasons in full.
#[must_use]
pub fn zone_in_words(review: &ZoneReview) -> String {
    zone_text(review)
}
