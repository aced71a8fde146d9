//! A first plan from the files' own columns, with the coordinate systems that the files do not say found by trying.

use std::path::{Path, PathBuf};

use super::guarded;
use crate::error::Failure;
use crate::field;
use crate::files::Files;
use crate::intake;
use crate::plan::{DraftLine, Trust};

/// The text of a first plan for a boundary and files of points; its paths are relative to `folder`.
///
/// # Errors
/// Where a file cannot be read.
pub fn draft(
    files: &Files,
    boundary: &Path,
    points: &[PathBuf],
    folder: &Path,
) -> Result<String, Failure> {
    guarded(|| {
        let mut draft = intake::draft_plan(files, boundary, points, folder)?;
        place_points(&mut draft);
        Ok(draft.plan.to_text())
    })
}

/// Finds the coordinate system of files that do not say theirs, by trying.
fn place_points(draft: &mut intake::Draft) {
    for points in draft
        .plan
        .points
        .iter_mut()
        .filter(|points| !points.unplaced.is_empty())
    {
        let found = draft
            .ground
            .as_ref()
            .and_then(|(crs, corners)| field::fitting_crs(crs, *corners, &points.unplaced));
        let line = match &found {
            Some(found) => {
                let swapped = if found.is_swapped { ", with x and y exchanged" } else { "" };
                let open = found.open_question().map_or_else(String::new, |open| format!("; {open}"));
                let why = format!(
                    "by trying: {} of the first {} points fall on the field{swapped}{open}",
                    found.inside, found.of
                );
                DraftLine::text("crs", &found.crs).because(Trust::Guessed, why)
            }
            None => DraftLine::text("crs", "EPSG:...").as_comment().because(
                Trust::Look,
                "in none of the usual systems do the points fall on the field: write the one they are in",
            ),
        };
        points.set_crs(line);
        if found.is_some_and(|found| found.is_swapped) {
            points.swap_places();
        }
    }
}
