//! A column has one role, and a file is read once.

use std::collections::BTreeMap;

use crate::analyte::Analyte;
use crate::plan::error::{Hint, PlanError};
use crate::plan::points_table::PointsTable;
use crate::plan::reading::{Typed, Written};
use crate::text::{nearest, shorten};

use super::words::Resolver;

impl Resolver<'_> {
    /// The analyte of a word of the plan.
    pub(super) fn analyte(&self, written: &Written<String>) -> Option<Analyte> {
        if let Ok(analyte) = written.value.parse() {
            return Some(analyte);
        }
        let names: Vec<(String, String)> = Analyte::NAMED
            .iter()
            .map(|analyte| (analyte.name(), analyte.label()))
            .collect();
        let name =
            nearest(&written.value, names.iter().map(|(name, _)| name.as_str())).or_else(|| {
                let label = nearest(
                    &written.value,
                    names.iter().map(|(_, label)| label.as_str()),
                )?;
                names
                    .iter()
                    .find(|(_, other)| other == label)
                    .map(|(name, _)| name.as_str())
            });
        self.note(PlanError::NotAllowed {
            place: written.place.clone(),
            found: shorten(&written.value),
            what: "an analyte",
            hint: Hint::from(name),
            allowed: names
                .iter()
                .map(|(name, _)| name.as_str())
                .chain(["covariate:<name> for any other number"])
                .collect::<Vec<_>>()
                .join(", "),
        });
        None
    }
}

/// Columns of one file that have two roles, and roles that need a partner.
pub(super) fn check_columns(table: &PointsTable, resolver: &Resolver<'_>) {
    match (table.x.given(), table.y.given()) {
        (Some(x), None) if !table.y.is_written() => {
            resolver.contradiction(
                &x.place,
                "x is said but y is not",
                "name both columns, or neither so that they are guessed",
            );
        }
        (None, Some(y)) if !table.x.is_written() => {
            resolver.contradiction(
                &y.place,
                "y is said but x is not",
                "name both columns, or neither so that they are guessed",
            );
        }
        (Some(x), Some(y)) if x.value == y.value => {
            resolver.contradiction(
                &y.place,
                format!("x and y are the same column \"{}\"", shorten(&x.value)),
                "x is east or longitude, y is north or latitude",
            );
        }
        _ => {}
    }
    if let (Some(top), Some(bottom)) = (table.top.given(), table.bottom.given())
        && top.value == bottom.value
    {
        let what = format!(
            "top and bottom are the same column \"{}\"",
            shorten(&top.value)
        );
        resolver.contradiction(
            &bottom.place,
            what,
            "top is the upper edge of the sample, bottom the lower",
        );
    }
    check_ignored(table, resolver);
    check_meanings(table, resolver);
}

/// Columns that are to be left aside and to be read at once.
fn check_ignored(table: &PointsTable, resolver: &Resolver<'_>) {
    let Some(ignore) = table.ignore.given() else {
        return;
    };
    let single = [
        &table.x,
        &table.y,
        &table.id,
        &table.depth_column,
        &table.top,
        &table.bottom,
    ];
    let marks = table
        .depths
        .given()
        .map(|marks| marks.value.as_slice())
        .unwrap_or_default();
    let used = single
        .into_iter()
        .filter_map(Typed::given)
        .chain(table.columns.iter().map(|(name, _)| name))
        .chain(marks.iter().map(|(name, _)| name));
    for column in used.filter(|column| ignore.value.contains(&column.value)) {
        let what = format!(
            "the column \"{}\" is ignored and used at once",
            shorten(&column.value)
        );
        resolver.contradiction(
            &column.place,
            what,
            "take it out of ignore, or do not name it here",
        );
    }
}

/// Columns that are named twice, or that claim to be the same thing.
fn check_meanings(table: &PointsTable, resolver: &Resolver<'_>) {
    let is_depth_by_row =
        table.depth_column.is_written() || table.top.is_written() || table.bottom.is_written();
    let mut names = BTreeMap::new();
    let mut meanings = BTreeMap::new();
    for (name, column) in &table.columns {
        if let Some(other) = names.insert(name.value.trim().to_lowercase(), &name.value) {
            let what = format!(
                "the columns \"{}\" and \"{}\" are one, but for blanks or letter case",
                shorten(other),
                shorten(&name.value)
            );
            resolver.contradiction(
                &name.place,
                what,
                "keep the line that is spelled as in the file",
            );
        }
        if let (true, Some(depth)) = (is_depth_by_row, column.depth.given()) {
            let help = "keep the depth of the rows, or that of the columns";
            resolver.contradiction(
                &depth.place,
                "this column has a depth of its own, but the depth stands in each row",
                help,
            );
        }
        let text =
            |typed: &Typed<String>| typed.given().map(|written| written.value.to_lowercase());
        let Some(is) = text(&column.is) else { continue };
        let meaning = (is, text(&column.method), text(&column.depth));
        if let Some(other) = meanings.insert(meaning, &name.value) {
            let what = format!(
                "the columns \"{}\" and \"{}\" are said to be the same thing",
                shorten(other),
                shorten(&name.value)
            );
            resolver.contradiction(
                &name.place,
                what,
                "tell them apart by method or depth, or put one of them in ignore",
            );
        }
    }
}

/// Files that two tables read: every result would count twice.
pub(super) fn check_files(tables: &[PointsTable], resolver: &Resolver<'_>) {
    let mut seen: BTreeMap<(&str, &str), &PointsTable> = BTreeMap::new();
    for table in tables {
        let (Some(file), Some(kind)) = (table.file.given(), table.kind.given()) else {
            continue;
        };
        let Some(first) = seen.insert((&file.value, &kind.value), table) else {
            continue;
        };
        let is_shared = |name: &Written<String>| {
            first
                .columns
                .iter()
                .any(|(other, _)| other.value.trim() == name.value.trim())
        };
        let shared = table
            .columns
            .iter()
            .map(|(name, _)| name)
            .find(|name| is_shared(name));
        let help = "read each column of a file in one [[points]] table only";
        if let Some(name) = shared {
            let what = format!(
                "two tables name the column \"{}\" of \"{}\"",
                shorten(&name.value),
                shorten(&file.value)
            );
            resolver.contradiction(&name.place, what, help);
        } else if table.columns.is_empty() || first.columns.is_empty() {
            let what = format!(
                "two tables read \"{}\", and its results would count twice",
                shorten(&file.value)
            );
            resolver.contradiction(&file.place, what, help);
        }
    }
}
