//! Every value of a plan with the place that it was typed in: what `check` shows of a farm.

use std::path::Path;

use super::error::PlanError;
use super::inherited::leaves;
use super::reading::Document;
use super::{Inherited, LARGEST_PLAN_BYTES, Merged, bytes_as_text, homes, name_of};
use crate::files::Files;
use crate::provenance::Place;

/// A value of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanValue {
    /// Dotted key: `machine.swath`.
    pub key: String,
    /// The value as one would write it.
    pub value: String,
    /// Where it was typed: the plan or the farm file.
    pub place: Place,
    /// Whether the farm file gave it.
    pub is_inherited: bool,
}

/// The values of a plan with what it takes from its farm, in the order in which they were typed. Nothing is checked.
///
/// # Errors
/// Where the plan cannot be read.
pub fn values(
    files: &Files,
    plan: &Path,
    inherited: Option<&Inherited>,
) -> Result<Vec<PlanValue>, Vec<PlanError>> {
    let text = bytes_as_text(files, plan, LARGEST_PLAN_BYTES).map_err(|problem| vec![problem])?;
    let document = Document::new(&name_of(plan).display().to_string(), homes::home_of);
    let merged = Merged::new(&text, plan, &document, inherited)?;
    let mut values = Vec::new();
    leaves(&merged.tree, "", &mut |key, item| {
        values.push(PlanValue {
            key: key.to_owned(),
            value: item.value.show(),
            place: item.place.clone(),
            is_inherited: Some(&item.place) == merged.taken.get(key),
        });
    });
    Ok(values)
}
