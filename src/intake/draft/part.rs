//! Which sheet of a spreadsheet, or layer of a GeoPackage, a first plan takes.

use std::path::Path;

use crate::analyte::{Meaning, meaning_of, plain_name};
use crate::files::Files;
use crate::intake::columns::depth_mark::depth_mark;
use crate::intake::columns::roles::RoleNames;
use crate::intake::error::IntakeError;
use crate::intake::formats::read_shapes::layer_names;
use crate::intake::formats::shapes::LayerWish;
use crate::intake::formats::spreadsheet::sheet_names;
use crate::intake::read::is_spreadsheet;
use crate::intake::source::{place_of, read_whole};

use super::sketch::{Sketch, sketch_of};

/// Parts of one file that are looked into.
const MOST_TRIED: usize = 20;

/// A sheet or layer that was chosen among several.
pub(super) struct Part {
    /// Its name.
    pub name: String,
    /// The key of the plan that names it.
    pub key: &'static str,
    /// The others.
    pub others: Vec<String>,
}

/// The sheet or layer with the most columns that the catalogue knows; `None` where the file has only one.
pub(super) fn best_part(files: &Files, file: &Path) -> Result<Option<Part>, IntakeError> {
    let (key, names) = if is_spreadsheet(file) {
        let bytes = read_whole(files, file, &mut Vec::new())?;
        ("sheet", sheet_names(&bytes, &place_of(file))?)
    } else {
        ("layer", layer_names(files, file, LayerWish::Points)?)
    };
    if names.len() < 2 {
        return Ok(None);
    }
    let score = |name: &String| {
        sketch_of(files, file, Some(name)).map_or(0, |sketch| known_columns(&sketch))
    };
    let mut best = (0, 0);
    for (at, name) in names.iter().take(MOST_TRIED).enumerate() {
        let own = score(name);
        if own > best.1 {
            best = (at, own);
        }
    }
    let mut others = names;
    let name = others.remove(best.0);
    Ok(Some(Part { name, key, others }))
}

/// Columns of results and depths that are known, and places.
fn known_columns(sketch: &Sketch) -> usize {
    let names = RoleNames::built_in();
    let is_known = |name: &&String| {
        matches!(meaning_of(name), Meaning::Result(_) | Meaning::Tie(_))
            || depth_mark(&plain_name(name)).is_some()
    };
    let known = sketch.header.names.iter().filter(is_known).count();
    let is_long = sketch.header.find_role(&names.analyte).is_some()
        && sketch.header.find_role(&names.value).is_some();
    let is_placed = sketch.has_geometry || sketch.header.find_coordinate(&names.x).is_some();
    known + 3 * usize::from(is_long) + usize::from(is_placed && known > 0)
}
