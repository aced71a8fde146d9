//! What a draft takes from the file of the boundary: the outline's line, the field's name, its people and season.

use std::path::Path;

use crate::analyte::folded_name;
use crate::intake::boundary_choice::distinguishing_attribute;
use crate::intake::formats::shapes::{Shape, Shapes};
use crate::plan::{DraftLine, Trust};

use super::text::relative;

/// Names of the attribute that says a field's name, in plain form.
const FIELD_NAMES: [&str; 12] = [
    "field",
    "field name",
    "fieldname",
    "fldname",
    "field id",
    "name",
    "schlag",
    "schlagname",
    "feld",
    "parcelle",
    "parcela",
    "talhao",
];
const GROWER_NAMES: [&str; 8] = [
    "grower",
    "grower name",
    "client",
    "client name",
    "customer",
    "landwirt",
    "produtor",
    "productor",
];
const FARM_NAMES: [&str; 6] = ["farm", "farm name", "betrieb", "ferme", "finca", "fazenda"];
const SEASON_NAMES: [&str; 5] = ["season", "year", "crop year", "jahr", "campaign"];

/// The line of the boundary.
pub(super) fn boundary_line(shapes: &Shapes, file: &Path, folder: &Path) -> DraftLine {
    let path = DraftLine::quoted(&relative(file, folder));
    let (mut keys, mut notes) = (String::new(), Vec::new());
    if shapes.crs.is_none() && !shapes.is_degrees_by_format {
        keys.push_str(", crs = \"EPSG:4326\"");
        notes.push("the file has no .prj; write its coordinate system here".to_owned());
    }
    if let Some((attribute, values)) = distinguishing_attribute(shapes) {
        // The shape that the field's name is taken from.
        let own = self::attribute(shapes, &[&folded_name(&attribute).replace('_', " ")]);
        let first = own
            .map(|(_, value)| value)
            .or_else(|| values.first().cloned())
            .unwrap_or_default();
        keys.push_str(&format!(
            ", choose = {{ attribute = {}, is = {} }}",
            DraftLine::quoted(&attribute),
            DraftLine::quoted(&first)
        ));
        let list: Vec<String> = values
            .iter()
            .take(12)
            .map(|value| DraftLine::quoted(value))
            .collect();
        notes.push(format!(
            "the file holds several shapes: {}",
            list.join(", ")
        ));
    }
    let line = DraftLine::new("boundary", format!("{{ file = {path}{keys} }}"));
    if notes.is_empty() {
        line
    } else {
        line.because(Trust::Guessed, notes.join("; "))
    }
}

/// The field's name, where an attribute says it.
pub(super) fn field_name(shapes: &Shapes) -> Option<(String, String)> {
    attribute(shapes, &FIELD_NAMES)
}

/// The season, where an attribute says it.
pub(super) fn season(shapes: &Shapes) -> Option<(String, u64)> {
    let (name, value) = attribute(shapes, &SEASON_NAMES)?;
    let year: u64 = value.parse().ok()?;
    (2000..=2100).contains(&year).then_some((name, year))
}

/// Grower and farm, where attributes say them.
pub(super) fn people(shapes: &Shapes) -> Vec<DraftLine> {
    [("grower", &GROWER_NAMES[..]), ("farm", &FARM_NAMES[..])]
        .into_iter()
        .filter_map(|(key, names)| {
            let (name, value) = attribute(shapes, names)?;
            let why = format!("from the boundary's attribute {name}");
            Some(DraftLine::text(key, &value).because(Trust::Guessed, why))
        })
        .collect()
}

/// The first attribute with one of some names, and its value.
fn attribute(shapes: &Shapes, names: &[&str]) -> Option<(String, String)> {
    let first: &Shape = shapes.list.iter().find(|shape| shape.geometry.is_some())?;
    names.iter().find_map(|wanted| {
        first
            .attributes
            .iter()
            .find(|(name, value)| {
                folded_name(name).replace('_', " ") == *wanted && !value.trim().is_empty()
            })
            .map(|(name, value)| (name.clone(), value.trim().to_owned()))
    })
}
