//! Every column of a file: as it is read, or in a comment with the best guess and its first values.

use crate::analyte::{Catalogue, LayerKey, Meaning, meaning_of};
use crate::intake::columns::cone_roles::ConeForm;
use crate::intake::columns::result::{covariate_name, oxide_entry};
use crate::intake::columns::table_roles::TableRoles;
use crate::intake::columns::{ResultColumn, plan_entry};
use crate::intake::error::{IntakeError, clipped};
use crate::plan::{DraftLine, PointsDraft, Trust};

use super::sketch::Sketch;

/// Values that are shown of a column that is not read.
const SHOWN: usize = 3;

/// Columns whose name has more than one meaning are left out until somebody says which.
pub(super) fn ignored(errors: &[IntakeError]) -> Option<DraftLine> {
    let names: Vec<String> = errors
        .iter()
        .filter(|error| matches!(error, IntakeError::Tie { .. }))
        .filter_map(|tie| tie.place().column.as_deref())
        .map(DraftLine::quoted)
        .collect();
    (!names.is_empty()).then(|| {
        DraftLine::new("ignore", format!("[{}]", names.join(", "))).because(
            Trust::Guessed,
            "left out, because their names have more than one meaning",
        )
    })
}

/// Adds a line for each column that no key names.
pub(super) fn push_columns(draft: &mut PointsDraft, sketch: &Sketch, roles: &TableRoles) {
    if let Some(ConeForm::Long { value, .. }) = roles.cone.as_ref().map(|cone| &cone.form) {
        let unit = roles.cone.as_ref().map_or("", |cone| &cone.unit);
        let entry = format!(
            "{{ is = \"cone_index\", unit = {} }}",
            DraftLine::quoted(unit)
        );
        draft.columns.push(DraftLine::new(
            &DraftLine::quoted(sketch.header.name(*value)),
            entry,
        ));
    }
    if let Some(long) = &roles.long {
        push_long(draft, sketch, long.analyte);
    }
    let first = usize::from(sketch.has_geometry) * 2;
    for at in first..sketch.header.names.len() {
        let result = roles.results.iter().find(|result| result.index == at);
        match result {
            Some(result) => draft.columns.push(read_line(result)),
            None if is_used(roles, at) => {}
            None => draft.columns.extend(unread_line(sketch, at)),
        }
    }
}

/// Whether a key of the table names a column already.
fn is_used(roles: &TableRoles, at: usize) -> bool {
    roles.claimed.contains(&at)
        || roles.id == Some(at)
        || roles
            .results
            .iter()
            .any(|result| result.qualifier == Some(at))
}

fn read_line(column: &ResultColumn) -> DraftLine {
    let entry = plan_entry(&column.key(None), column.unit.text.as_deref());
    let line = DraftLine::new(&DraftLine::quoted(&column.name), entry);
    match missing(column) {
        Some(missing) => line.because(Trust::Look, missing),
        None => line,
    }
}

/// A column that is not read, as a comment.
fn unread_line(sketch: &Sketch, at: usize) -> Option<DraftLine> {
    let name = sketch.header.name(at);
    let mut values: Vec<String> = Vec::new();
    for cell in sketch.header.sample.iter().filter_map(|row| row.get(at)) {
        let cell = clipped(cell);
        if !cell.is_empty() && !values.contains(&cell) && values.len() < SHOWN {
            values.push(cell);
        }
    }
    if name.is_empty() && values.is_empty() {
        return None;
    }
    let (entry, what) = best_guess(sketch, at);
    let held = if values.is_empty() {
        "it is empty".to_owned()
    } else {
        format!("it holds {}", values.join(", "))
    };
    let key = if name.is_empty() {
        format!("column {}", at + 1)
    } else {
        DraftLine::quoted(name)
    };
    let line = DraftLine::new(&key, entry).as_comment();
    Some(line.because(Trust::Said, format!("not read: {what}; {held}")))
}

/// The likeliest meaning of a column that is not read, and why it is not.
fn best_guess(sketch: &Sketch, at: usize) -> (String, &'static str) {
    let name = sketch.header.name(at);
    let covariate = || format!("{{ is = \"covariate:{}\" }}", covariate_name(name, at));
    match meaning_of(name) {
        Meaning::Oxide(analyte) => (
            oxide_entry(&analyte, name, sketch.header.unit(at)),
            "an oxide, neither the element nor safely a soil test",
        ),
        Meaning::Recommendation => (covariate(), "a recommendation"),
        Meaning::Tie(meanings) => {
            let first = meanings
                .first()
                .and_then(|m| m.split(' ').next())
                .unwrap_or_default();
            (
                format!("{{ is = \"{first}\" }}"),
                "its name has more than one meaning",
            )
        }
        Meaning::Result(found) => {
            let key = LayerKey::new(found.analyte, found.method, found.depth);
            (
                plan_entry(&key, found.unit.as_deref()),
                "another column says the same",
            )
        }
        Meaning::Unknown if sketch.header.is_numeric(at) => (covariate(), "its name is not known"),
        Meaning::Unknown => (covariate(), "its name is not known and it holds no numbers"),
    }
}

fn push_long(draft: &mut PointsDraft, sketch: &Sketch, analyte: usize) {
    let rows = sketch.header.sample.iter();
    let mut names: Vec<&str> = rows
        .filter_map(|row| row.get(analyte))
        .map(|cell| cell.trim())
        .collect();
    names.sort_unstable();
    names.dedup();
    for name in names {
        if let Meaning::Result(found) = meaning_of(name) {
            let key = LayerKey::new(found.analyte, found.method, None);
            let entry = plan_entry(&key, found.unit.as_deref());
            draft
                .columns
                .push(DraftLine::new(&DraftLine::quoted(name), entry));
        }
    }
}

/// What is missing from a line.
fn missing(column: &ResultColumn) -> Option<String> {
    let entry = Catalogue::built_in().entry(&column.analyte)?;
    let mut parts = Vec::new();
    let is_saturation = column.analyte.name().ends_with("_pct");
    if column.unit.text.is_none()
        && !is_saturation
        && Catalogue::built_in()
            .conversion(&column.analyte, "", "")
            .is_err()
    {
        parts.push(format!(
            "the file does not say the unit: {} is taken",
            column.unit.canonical
        ));
    }
    if entry.needs_method && column.method.is_none() {
        let methods: Vec<&str> = entry.method_names().collect();
        parts.push(format!(
            "add method = \"...\" ({}); without it no rule is met",
            methods.join(", ")
        ));
    }
    (!parts.is_empty()).then(|| parts.join("; "))
}
