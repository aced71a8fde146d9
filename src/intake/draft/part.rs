//! Which sheet of a spreadsheet, or layer of a GeoPackage, a first plan takes.

use std::path::Path;

use crate::analyte::{Meaning, meaning_of};
use crate::files::Files;
use crate::intake::columns::reading_column::column_mark;
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
    /// Others that have as many columns that are known.
    pub tied: Vec<String>,
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
    let scores: Vec<usize> = names.iter().take(MOST_TRIED).map(score).collect();
    let most = scores.iter().copied().max().unwrap_or(0);
    let equals = || {
        let equal = names.iter().zip(&scores).filter(|(_, own)| **own == most);
        equal.map(|(name, _)| name)
    };
    // Of several, the one of the latest year, else the first.
    let latest = equals().filter_map(|name| year_in(name)).max();
    let best = equals().find(|name| year_in(name) == latest);
    let name = best.or(names.first()).cloned().unwrap_or_default();
    let mut tied: Vec<String> = equals().cloned().collect();
    tied.retain(|other| *other != name && most > 0);
    let mut others = names;
    others.retain(|other| *other != name);
    Ok(Some(Part {
        name,
        key,
        others,
        tied,
    }))
}

/// A year in a name: `soil_2026`.
fn year_in(name: &str) -> Option<u32> {
    let numbers = name.split(|c: char| !c.is_ascii_digit());
    let years = numbers.filter(|part| part.len() == 4);
    years
        .filter_map(|part| part.parse().ok())
        .filter(|year| (1980..=2100).contains(year))
        .max()
}

/// Columns of results and depths that are known, and places.
fn known_columns(sketch: &Sketch) -> usize {
    let names = RoleNames::built_in();
    let header = &sketch.header;
    let is_known = |at: &usize| {
        matches!(
            meaning_of(header.bare_name(*at)),
            Meaning::Result(_) | Meaning::Tie(_)
        ) || column_mark(header, *at).is_some()
    };
    let known = (0..header.names.len()).filter(is_known).count();
    let is_long = sketch.header.find_role(&names.analyte).is_some()
        && sketch.header.find_role(&names.value).is_some();
    let is_placed = sketch.has_geometry || sketch.header.find_coordinate(&names.x).is_some();
    known + 3 * usize::from(is_long) + usize::from(is_placed && known > 0)
}
