use std::path::{Component, Path};

use super::error::FarmError;
use crate::provenance::Place;

/// Longest name, in bytes: it becomes the name of a folder.
const LONGEST: usize = 150;
/// Letters that some file system does not take in a name.
const NOT_IN_NAMES: &[char] = &['/', '\\', ':', '*', '?', '"', '<', '>', '|'];

/// The name of a field in its farm, from the path of its plan: the folders, and the file where it is not `plan.toml`.
pub(super) fn name_of_plan(plan: &Path) -> String {
    let stem = plan.file_stem().unwrap_or_default().to_string_lossy();
    let folders = plan.parent().into_iter().flat_map(Path::components);
    let mut parts: Vec<String> = folders
        .filter_map(|part| match part {
            Component::Normal(name) => Some(name.to_string_lossy().into_owned()),
            _ => None,
        })
        .collect();
    if stem != "plan" || parts.is_empty() {
        parts.push(stem.into_owned());
    }
    parts.join("-")
}

/// Refuses a name that no folder can have.
pub(super) fn check_name(id: &str, place: &Place) -> Result<(), FarmError> {
    let why = if id.is_empty() {
        "it is empty"
    } else if id.len() > LONGEST {
        "it is too long"
    } else if id.starts_with('.') || id.ends_with(['.', ' ']) {
        "it begins or ends with a mark that a folder cannot have there"
    } else if id.contains(NOT_IN_NAMES) || id.chars().any(char::is_control) {
        "it holds a letter that a folder cannot have"
    } else {
        return Ok(());
    };
    Err(FarmError::Name {
        place: place.clone(),
        id: crate::text::shorten(id),
        why,
    })
}
