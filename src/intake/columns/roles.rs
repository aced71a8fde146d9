//! Names of columns that are not results: coordinates, sample name, depth, and depth marks of a cone.

use std::sync::LazyLock;

use serde::Deserialize;

use crate::analyte::{Catalogue, folded_name, plain_name, plain_unit};
use crate::toml_tree::built_in;
use crate::units::Length;

/// The names by role, from `roles.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::intake) struct RoleNames {
    pub x: Vec<String>,
    pub y: Vec<String>,
    beside_coordinates: Vec<String>,
    pub id: Vec<String>,
    pub depth: Vec<String>,
    pub top_and_bottom: Vec<(String, String)>,
    pub analyte: Vec<String>,
    pub value: Vec<String>,
    pub unit: Vec<String>,
    pub method: Vec<String>,
    pub qualifier: Vec<String>,
    pub resistance: Vec<String>,
    pub maximum: Vec<String>,
}

impl RoleNames {
    /// The names that the program comes with.
    pub(in crate::intake) fn built_in() -> &'static Self {
        static NAMES: LazyLock<RoleNames> =
            LazyLock::new(|| built_in(include_str!("roles.toml"), "the built-in list of names"));
        &NAMES
    }
}

/// A column's name in the form in which `roles.toml` lists names.
pub(in crate::intake) fn role_name(name: &str) -> String {
    without_unit(&plain_name(name)).0
}

/// The same for a coordinate: less the words that may stand beside it.
pub(in crate::intake) fn coordinate_name(name: &str) -> String {
    let beside = &RoleNames::built_in().beside_coordinates;
    let words = role_name(name);
    let words = words
        .split(' ')
        .filter(|word| !beside.iter().any(|own| own == word));
    words.collect::<Vec<_>>().join(" ")
}

/// A column's plain name without its unit in brackets or after an underscore: `Depth (in)`, `top_cm`.
pub(in crate::intake) fn without_unit(plain: &str) -> (String, Option<String>) {
    let folded = folded_name(plain);
    let is_part = |c: char| c.is_alphanumeric() || "\"\u{201d}\u{2033}%/".contains(c);
    let words: Vec<&str> = folded
        .split(|c: char| !is_part(c))
        .filter(|word| !word.is_empty())
        .collect();
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() && is_any_unit(last) => {
            (rest.join(" "), Some((*last).to_owned()))
        }
        _ => (words.join(" "), None),
    }
}

/// Whether a name is one of those that say a role.
pub(in crate::intake) fn is_role_name(name: &str) -> bool {
    let (own, coordinate) = (role_name(name), coordinate_name(name));
    let names = RoleNames::built_in();
    let others = [
        &names.id,
        &names.depth,
        &names.analyte,
        &names.value,
        &names.resistance,
    ];
    [&names.x, &names.y]
        .iter()
        .any(|list| list.contains(&coordinate))
        || others.iter().any(|list| list.contains(&own))
        || names
            .top_and_bottom
            .iter()
            .any(|(top, bottom)| *top == own || *bottom == own)
}

/// Whether a name is that of a coordinate.
pub(in crate::intake) fn is_place_name(name: &str) -> bool {
    let names = RoleNames::built_in();
    let coordinate = coordinate_name(name);
    names.x.contains(&coordinate) || names.y.contains(&coordinate)
}

fn is_any_unit(word: &str) -> bool {
    is_length_unit(word) || is_unit_text(word)
}

/// Whether a word is a unit of length for depths.
pub(in crate::intake) fn is_length_unit(word: &str) -> bool {
    length_unit(word).is_some()
}

/// Metres in a unit of depth.
pub(in crate::intake) fn length_unit(word: &str) -> Option<f64> {
    Some(match plain_name(word).trim_end_matches('.') {
        "in" | "inch" | "inches" | "ins" | "\"" | "”" | "″" => 0.0254,
        "cm" => 0.01,
        "mm" => 0.001,
        "m" => 1.0,
        "ft" | "feet" => 0.3048,
        _ => return None,
    })
}

/// Whether a text is a unit of some analyte, of length or of angle.
pub(in crate::intake) fn is_unit_text(text: &str) -> bool {
    let plain = plain_unit(text);
    if matches!(
        plain.as_str(),
        "-" | "deg"
            | "degree"
            | "degrees"
            | "dd"
            | "none"
            | "n/a"
            | "psi"
            | "in"
            | "cm"
            | "mm"
            | "m"
            | "ft"
            | "inches"
            | "inch"
    ) {
        return true;
    }
    !plain.is_empty() && Catalogue::built_in().has_unit(&plain)
}

/// A depth mark in a unit of length.
pub(in crate::intake) fn mark_length(number: f64, metres: f64) -> Length {
    Length::from_metres(number * metres)
}
