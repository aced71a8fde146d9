//! A column of results, and the line of the plan that says what it is.

use std::sync::Arc;

use crate::analyte::{Analyte, DepthRange, LayerKey, Method, oxide_cell, plain_name};

use crate::intake::columns::result_unit::ResultUnit;

/// A column of results.
#[derive(Debug, Clone)]
pub(in crate::intake) struct ResultColumn {
    /// Index in the row.
    pub index: usize,
    /// Name in the file.
    pub name: Arc<str>,
    /// Analyte.
    pub analyte: Analyte,
    /// Method.
    pub method: Option<Method>,
    /// Unit.
    pub unit: ResultUnit,
    /// Depth of this column alone.
    pub depth: Option<DepthRange>,
    /// Column of its qualifiers.
    pub qualifier: Option<usize>,
}

impl ResultColumn {
    pub(in crate::intake) fn key(&self, depth: Option<DepthRange>) -> LayerKey {
        LayerKey::new(
            self.analyte.clone(),
            self.method.clone(),
            self.depth.or(depth),
        )
    }
}

/// The line of a plan that says what a column is.
pub(in crate::intake) fn plan_line(name: &str, key: &LayerKey, unit: Option<&str>) -> String {
    format!("{} = {}", quoted(name), plan_entry(key, unit))
}

/// What a plan says behind a column's name.
pub(in crate::intake) fn plan_entry(key: &LayerKey, unit: Option<&str>) -> String {
    let mut entry = format!("{{ is = \"{}\"", key.analyte);
    if let Some(method) = &key.method {
        entry.push_str(&format!(", method = {}", quoted(method.name())));
    }
    if let Some(unit) = unit.filter(|unit| !unit.is_empty()) {
        entry.push_str(&format!(", unit = {}", quoted(unit)));
    }
    if let Some(depth) = key.depth {
        entry.push_str(&format!(", depth = {}", quoted(&depth.as_written())));
    }
    entry.push_str(" }");
    entry
}

fn quoted(text: &str) -> String {
    crate::plan::DraftLine::quoted(text)
}

/// A layer's name with its depth as it was written.
pub(in crate::intake) fn named_key(key: &LayerKey) -> String {
    let bare = LayerKey::new(key.analyte.clone(), key.method.clone(), None);
    key.depth.map_or_else(
        || bare.to_string(),
        |depth| format!("{bare}, {}", depth.as_written()),
    )
}

/// The oxide that a laboratory gives an analyte as.
pub(in crate::intake) fn oxide_word(analyte: &Analyte) -> &'static str {
    match analyte {
        Analyte::Phosphorus => "P2O5",
        Analyte::Potassium => "K2O",
        Analyte::Calcium => "CaO",
        _ => "MgO",
    }
}

/// What a plan says behind the name of a column of an oxide that is a result after all: with the unit and the method that its name says.
pub(in crate::intake) fn oxide_entry(analyte: &Analyte, name: &str, below: Option<&str>) -> String {
    let said = oxide_cell(analyte, name);
    let unit = said.unit.or_else(|| below.map(str::to_owned));
    let unit = format!(
        "{} {}",
        unit.as_deref().unwrap_or("ppm"),
        oxide_word(analyte)
    );
    plan_entry(
        &LayerKey::new(analyte.clone(), said.method, None),
        Some(&unit),
    )
}

/// A covariate's name made of the name of a column, counted from 0.
pub(in crate::intake) fn covariate_name(name: &str, at: usize) -> String {
    let plain: String = plain_name(name)
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { '_' })
        .collect();
    let parts: Vec<&str> = plain.split('_').filter(|part| !part.is_empty()).collect();
    if parts.is_empty() {
        return format!("column_{}", at + 1);
    }
    parts.join("_")
}
