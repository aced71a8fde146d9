//! Names of columns that are not results: coordinates, sample name, depth, and depth marks of a cone.

use crate::analyte::{Catalogue, plain_name, plain_unit};
use crate::units::Length;

/// Names of a column of eastings or longitudes, likeliest first.
pub(super) const X_NAMES: [&str; 10] = [
    "lon",
    "longitude",
    "long",
    "lng",
    "x",
    "easting",
    "east",
    "x_coord",
    "gps_lon",
    "point_x",
];
/// Names of a column of northings or latitudes, likeliest first.
pub(super) const Y_NAMES: [&str; 9] = [
    "lat", "latitude", "y", "northing", "north", "y_coord", "gps_lat", "point_y", "lati",
];
/// Names of a column of sample names, likeliest first.
pub(super) const ID_NAMES: [&str; 16] = [
    "id",
    "sample id",
    "sample_id",
    "sampleid",
    "sample",
    "core",
    "core id",
    "sample name",
    "sample no",
    "sample number",
    "site",
    "point",
    "point id",
    "name",
    "push",
    "station",
];
/// Names of a column of depth texts.
pub(super) const DEPTH_NAMES: [&str; 6] = [
    "depth",
    "depth range",
    "sample depth",
    "sampling depth",
    "layer",
    "soil depth",
];
/// Pairs of names of upper and lower depth.
pub(super) const DEPTH_PAIRS: [(&str, &str); 10] = [
    ("top", "bottom"),
    ("from", "to"),
    ("b depth", "e depth"),
    ("begin depth", "end depth"),
    ("beginning depth", "ending depth"),
    ("start depth", "end depth"),
    ("starting depth", "ending depth"),
    ("depth from", "depth to"),
    ("top depth", "bottom depth"),
    ("upper depth", "lower depth"),
];
/// Names of the column that holds analyte names in a long table.
pub(super) const ANALYTE_NAMES: [&str; 8] = [
    "analyte",
    "parameter",
    "measurement",
    "test",
    "determination",
    "element",
    "nutrient",
    "variable",
];
/// Names of the column of results in a long table.
pub(super) const VALUE_NAMES: [&str; 5] =
    ["value", "result", "results", "measured value", "reading"];
/// Names of the column of units in a long table.
pub(super) const UNIT_NAMES: [&str; 5] = ["unit", "units", "uom", "value unit", "result unit"];
/// Names of the column of methods in a long table.
pub(super) const METHOD_NAMES: [&str; 4] = ["method", "test method", "extraction", "extractant"];
/// Names of a column of qualifiers.
pub(super) const QUALIFIER_NAMES: [&str; 8] = [
    "qualifier",
    "qual",
    "flag",
    "quality code",
    "q",
    "result qualifier",
    "data qualifier",
    "remark code",
];
/// Names of the column of cone readings in a long table.
pub(super) const RESISTANCE_NAMES: [&str; 9] = [
    "resistance",
    "cone index",
    "cone_index",
    "penetration resistance",
    "pressure",
    "force",
    "reading",
    "value",
    "ci",
];
/// Names of a column of maximum readings.
pub(super) const MAXIMUM_NAMES: [&str; 6] = [
    "max",
    "maximum",
    "max resistance",
    "max cone index",
    "peak",
    "max_psi",
];

/// A column's plain name without its unit in brackets or after an underscore: `Depth (in)`, `top_cm`.
pub(super) fn without_unit(plain: &str) -> (String, Option<String>) {
    let words: Vec<&str> = plain
        .split(|c: char| c.is_whitespace() || "_()[],".contains(c))
        .filter(|word| !word.is_empty())
        .collect();
    match words.split_last() {
        Some((last, rest)) if !rest.is_empty() && is_any_unit(last) => {
            (rest.join(" "), Some((*last).to_owned()))
        }
        _ => (words.join(" "), None),
    }
}

/// Whether a plain name is one of those that say a role.
pub(super) fn is_role_name(plain: &str) -> bool {
    let (bare, _) = without_unit(plain);
    let spaced = |name: &&str| name.replace('_', " ") == bare;
    [
        &X_NAMES[..],
        &Y_NAMES,
        &ID_NAMES,
        &DEPTH_NAMES,
        &ANALYTE_NAMES,
        &VALUE_NAMES,
        &RESISTANCE_NAMES,
    ]
    .iter()
    .any(|names| names.iter().any(spaced))
        || DEPTH_PAIRS
            .iter()
            .any(|(top, bottom)| *top == bare || *bottom == bare)
}

fn is_any_unit(word: &str) -> bool {
    is_length_unit(word) || is_unit_text(word)
}

/// Whether a word is a unit of length for depths.
pub(super) fn is_length_unit(word: &str) -> bool {
    length_unit(word).is_some()
}

/// Metres in a unit of depth.
pub(super) fn length_unit(word: &str) -> Option<f64> {
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
pub(super) fn is_unit_text(text: &str) -> bool {
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
pub(super) fn mark_length(number: f64, metres: f64) -> Length {
    Length::from_metres(number * metres)
}
