//! Where each key of the plan belongs, for a key that was found somewhere else.

/// Each home in words, and the keys that belong there alone.
const HOMES: &[(&str, &[&str])] = &[
    (
        "at the top of the file, before the first [table]",
        &[
            "field",
            "season",
            "crop",
            "units",
            "boundary",
            "organic_carbon",
            "below_detection",
            "bulk_density",
            "region",
        ],
    ),
    ("in [grid]", &["cell"]),
    ("in [surface]", &["power", "neighbours"]),
    (
        "in [zones]",
        &[
            "count",
            "layers",
            "smallest",
            "fuzziness",
            "seed",
            "tolerance",
            "components",
            "shape",
        ],
    ),
    (
        "in [machine]",
        &[
            "swath",
            "row_spacing",
            "heading",
            "speed",
            "tank",
            "flow_per_row",
            "liquid_step",
            "dry_step",
            "passes",
        ],
    ),
    ("in [budget]", &["limit", "interest"]),
    ("in [people]", &["grower", "farm", "prepared_by", "date"]),
    (
        "in [[points]]",
        &[
            "kind",
            "x",
            "y",
            "id",
            "depth",
            "depth_column",
            "depth_unit",
            "depths",
            "base_area",
            "blank_below",
            "ignore",
            "leave_out",
            "columns",
            "skip_rows",
            "sheet",
            "decimal",
            "thousands",
            "na",
            "laboratory",
            "sampled",
        ],
    ),
    (
        "in [strips]",
        &[
            "products",
            "worth",
            "length",
            "header",
            "position_error",
            "spread",
            "avoid_passes",
        ],
    ),
    ("in [past]", &["runs"]),
    ("in [shed]", &["on_hand", "analysis"]),
    ("in [limits]", &["memory", "disk", "time"]),
    ("in [[keep_out]]", &["distance"]),
    (
        "in [[override]]",
        &["zone", "at", "inside", "product", "rate", "force"],
    ),
];

/// Where a key of the plan belongs that was found somewhere else; `None` where it is no key of the plan at all.
pub(super) fn home_of(key: &str, found_in: &str) -> Option<&'static str> {
    let (home, _) = HOMES.iter().find(|(_, keys)| keys.contains(&key))?;
    let is_there_already = !found_in.is_empty()
        && home.contains(&format!(
            "[{}]",
            found_in.split(['[', '.']).next().unwrap_or_default()
        ));
    (!is_there_already).then_some(*home)
}
