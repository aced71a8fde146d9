//! What `check` says of the columns: one row for each that is read, file by file.

use serde::Serialize;

use super::layer_table::shown_unit;
use super::page::Page;
use crate::field::{Field, FieldLayer};
use crate::plan::Settings;
use crate::text::Column;
use crate::units::significant;

/// The mark that `start` sets on what it guessed.
const GUESS: &str = "# GUESS";

/// Who says what a column is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// The plan.
    Said,
    /// The program, by the column's name.
    Guessed,
    /// Nobody: the program computed it.
    Derived,
}

impl Basis {
    fn word(self) -> &'static str {
        match self {
            Self::Said => "said",
            Self::Guessed => "guessed",
            Self::Derived => "derived",
        }
    }
}

/// One column that is read.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ColumnRow {
    /// The file, as the user named it.
    pub file: String,
    /// The column's name, or how the layer was derived.
    pub column: String,
    /// What it is read as, by its name in the plan file.
    pub is: String,
    /// Test method, where it is known.
    pub method: Option<String>,
    /// Sampling depth, where it has one, in the units of the plan.
    pub depth: Option<String>,
    /// Unit of the numbers below.
    pub unit: String,
    /// Results inside the field.
    pub n: usize,
    /// Least result.
    pub minimum: Option<f64>,
    /// Largest result.
    pub maximum: Option<f64>,
    /// Who says so.
    pub basis: Basis,
}

/// Which `[[points]]` tables of a plan file have columns that `start` guessed: as long as its mark stands, nobody has said so.
#[must_use]
pub fn still_guessed(plan: &str) -> Vec<bool> {
    let mut tables = Vec::new();
    for line in plan.lines().map(str::trim_start) {
        if line.starts_with("[[points]]") {
            tables.push(false);
        } else if (line.starts_with("[points.columns]") || line.starts_with("depths "))
            && line.contains(GUESS)
            && let Some(last) = tables.last_mut()
        {
            *last = true;
        }
    }
    tables
}

/// The columns of all files, in the order of the plan; `guessed` as [`still_guessed`] gives it.
#[must_use]
pub fn rows(field: &Field, settings: &Settings, guessed: &[bool]) -> Vec<ColumnRow> {
    let mut layers: Vec<&FieldLayer> = field.layers.iter().collect();
    layers.sort_by_key(|layer| layer.places);
    layers
        .into_iter()
        .map(|layer| row(layer, field, settings, guessed))
        .collect()
}

fn row(layer: &FieldLayer, field: &Field, settings: &Settings, guessed: &[bool]) -> ColumnRow {
    let file = field
        .places
        .get(layer.places)
        .map_or("", |places| &*places.file);
    let (factor, unit) = shown_unit(&layer.key, &layer.unit, settings.units);
    let finite = || {
        layer
            .values
            .iter()
            .copied()
            .filter(|value| value.is_finite())
    };
    let extreme = |pick: fn(f64, f64) -> f64| finite().reduce(pick).map(|value| value * factor);
    ColumnRow {
        file: file.to_owned(),
        column: layer.column.to_string(),
        is: layer.key.analyte.name(),
        method: layer
            .key
            .method
            .as_ref()
            .map(|method| method.name().to_owned()),
        depth: layer.key.depth.map(|depth| depth.show(settings.units)),
        unit,
        n: finite().count(),
        minimum: extreme(f64::min),
        maximum: extreme(f64::max),
        basis: basis(layer, file, settings, guessed),
    }
}

fn basis(layer: &FieldLayer, file: &str, settings: &Settings, guessed: &[bool]) -> Basis {
    let statistic = layer.key.method.as_ref().map(crate::analyte::Method::name);
    if layer.derived || statistic == Some("profile-maximum") {
        return Basis::Derived;
    }
    let column = &*layer.column;
    let is_said = settings.points.iter().enumerate().any(|(at, points)| {
        let is_guess = guessed.get(at).is_some_and(|is_guess| *is_guess);
        let marks = points.cone.iter().flat_map(|cone| &cone.depths);
        points.file.display().to_string() == file
            && !is_guess
            && (points.columns.iter().any(|(name, _)| **name == *column)
                || marks.into_iter().any(|(name, _)| name == column))
    });
    if is_said { Basis::Said } else { Basis::Guessed }
}

/// The rows as a table of 80 columns; each file's name stands above its columns.
pub fn push_table(page: &mut Page, rows: &[ColumnRow]) {
    let columns = [
        Column::text("file, column"),
        Column::text("read as, method"),
        Column::text("depth"),
        Column::number("n", ""),
        Column::number("range", ""),
        Column::text("unit"),
        Column::text("basis"),
    ];
    let mut cells = Vec::new();
    let mut file = None;
    for row in rows {
        if file != Some(&row.file) {
            let mut line = vec![String::new(); columns.len()];
            line[0].clone_from(&row.file);
            cells.push(line);
            file = Some(&row.file);
        }
        cells.push(cells_of(row));
    }
    page.fitted_table(&columns, &cells);
}

fn cells_of(row: &ColumnRow) -> Vec<String> {
    let range = match (row.minimum, row.maximum) {
        (Some(low), Some(high)) => format!("{} to {}", significant(low, 3), significant(high, 3)),
        _ => "-".to_owned(),
    };
    let read_as = match &row.method {
        Some(method) => format!("{}, {method}", row.is),
        None => row.is.clone(),
    };
    vec![
        format!("  {}", row.column),
        read_as,
        row.depth.clone().unwrap_or_else(|| "-".to_owned()),
        row.n.to_string(),
        range,
        row.unit.clone(),
        row.basis.word().to_owned(),
    ]
}
