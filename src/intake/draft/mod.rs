//! The plan that `start` writes: what the files say, every guess beside its line, ready to run.

mod file;
mod text;

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use crate::files::Files;

use crate::intake::boundary::distinguishing_attribute;
use crate::intake::error::IntakeError;
use crate::intake::formats::read_shapes::read_shapes;
use crate::intake::source::place_of;
use file::draft_points;
use text::{quoted, relative};

/// Days in a year, on average.
const DAYS: u64 = 86_400 * 36_525 / 100;

/// A commented plan for a boundary and files of points, with paths relative to `folder`.
///
/// # Errors
/// Where a file cannot be read, or nothing in it is recognised.
pub fn draft_plan(
    files: &Files,
    boundary: &Path,
    points: &[PathBuf],
    folder: &Path,
) -> Result<String, Vec<IntakeError>> {
    let mut errors = Vec::new();
    let boundary = draft_boundary(files, boundary, folder)
        .map_err(|error| errors.push(error))
        .unwrap_or_default();
    let mut tables = String::new();
    for file in points {
        match draft_points(files, file, folder) {
            Ok(table) => tables.push_str(&table),
            Err(found) => errors.extend(found),
        }
    }
    if points.is_empty() {
        errors.push(IntakeError::Nothing {
            place: place_of(folder),
            what: "no file of points was given".to_owned(),
        });
    }
    if errors.is_empty() {
        Ok(format!("{}{tables}{REST}", head(&boundary)))
    } else {
        Err(errors)
    }
}

/// The top of the plan. The season is next year's from September on.
fn head(boundary: &str) -> String {
    let seconds = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |since| since.as_secs());
    let season = 1970 + (seconds + DAYS / 3) / DAYS;
    let mut out = String::new();
    let _ = writeln!(
        out,
        "# A plan made from the files' own columns. Each line marked GUESS was not in the files: check it."
    );
    let _ = writeln!(
        out,
        "# `lowstave check` with this file prints what is read; `lowstave plan` makes the prescription.\n"
    );
    let _ = writeln!(
        out,
        "field    = \"My field\"      # GUESS: the name that the report prints"
    );
    let _ = writeln!(
        out,
        "season   = {season}            # GUESS: the season that is planned for"
    );
    let _ = writeln!(
        out,
        "crop     = \"corn\"          # GUESS: the rulebook says which crops it knows"
    );
    let _ = writeln!(
        out,
        "units    = \"us\"            # us | metric: what is printed; both are read"
    );
    out.push_str(boundary);
    out
}

fn draft_boundary(files: &Files, file: &Path, folder: &Path) -> Result<String, IntakeError> {
    let shapes = read_shapes(files, file, &mut Vec::new())?;
    let path = quoted(&relative(file, folder));
    let (mut keys, mut comment) = (String::new(), String::new());
    if shapes.crs.is_none() && !shapes.is_degrees_by_format {
        keys.push_str(", crs = \"EPSG:4326\"");
        comment.push_str("  # GUESS: the file has no .prj; write its coordinate system here");
    }
    if let Some((attribute, values)) = distinguishing_attribute(&shapes) {
        let first = values.first().cloned().unwrap_or_default();
        let _ = write!(
            keys,
            ", choose = {{ attribute = {}, is = {} }}",
            quoted(&attribute),
            quoted(&first)
        );
        let list: Vec<String> = values.iter().take(12).map(|value| quoted(value)).collect();
        let _ = write!(
            comment,
            "  # GUESS: the file holds several shapes: {}",
            list.join(", ")
        );
    }
    Ok(format!("boundary = {{ file = {path}{keys} }}{comment}\n"))
}

/// What no file of the field says: the machine and the grid, with the usual values.
const REST: &str = r#"
# [[keep_out]]               # where no product is placed; one table for each
# file     = "creek.geojson"
# distance = "33 ft"         # buffer round it
# why      = "setback from water"

[grid]
cell = "5 m"

[zones]
count    = "auto"            # or a number
smallest = "0.5 ac"

[machine]                    # GUESS: none of this is in the files; set it to your own planter and controller
swath = "40 ft"
row_spacing = "30 in"
heading = 0                  # degrees from north
speed = "5 mph"
tank = "400 gal"
flow_per_row = ["0.03 gal/min", "0.30 gal/min"]   # what pump and orifice can meter

# [budget]
# limit = "60 USD/ac"
"#;
