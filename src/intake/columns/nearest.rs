//! The nearest right words for a wrong one.

use crate::analyte::plain_name;
use crate::intake::error::IntakeError;
use crate::provenance::Place;

/// Refuses names of columns that a file of results does not have; the plan says of each what it is, and its unit.
pub(in crate::intake) fn require_named<Role>(
    place: &Place,
    said: &[(String, Role, Option<String>)],
    names: &[String],
) -> Result<(), Vec<IntakeError>> {
    let missing = said.iter().filter(|(name, _, _)| !names.contains(name));
    let missing: Vec<IntakeError> = missing
        .map(|(name, _, _)| IntakeError::MissingColumn {
            place: place.clone(),
            column: name.clone(),
            role: "results.columns".to_owned(),
            nearest: nearest(name, names),
        })
        .collect();
    if missing.is_empty() {
        Ok(())
    } else {
        Err(missing)
    }
}

/// Names that a column may have been meant by: the nearest ones, or the first of all.
pub(in crate::intake) fn nearest(wanted: &str, names: &[String]) -> String {
    let plain = plain_name(wanted);
    let mut scored: Vec<(f64, &String)> = names
        .iter()
        .filter(|name| !name.is_empty())
        .map(|name| {
            let other = plain_name(name);
            let contains = !plain.is_empty() && (other.contains(&plain) || plain.contains(&other));
            (
                strsim::jaro_winkler(&plain, &other) + if contains { 0.1 } else { 0.0 },
                name,
            )
        })
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0));
    let near: Vec<String> = scored
        .iter()
        .filter(|(score, _)| *score > 0.72)
        .take(3)
        .map(|(_, name)| format!("\"{name}\""))
        .collect();
    if !near.is_empty() {
        return format!("did you mean {}?", near.join(" or "));
    }
    let all: Vec<String> = names
        .iter()
        .filter(|name| !name.is_empty())
        .take(12)
        .map(|name| format!("\"{name}\""))
        .collect();
    let rest = names.len().saturating_sub(12);
    format!(
        "the columns are {}{}",
        all.join(", "),
        if rest > 0 {
            format!(" and {rest} more")
        } else {
            String::new()
        }
    )
}
