//! The keys of a plan that the page changes. Names of files are not among them: the page cannot make the program read another file.

use crate::desk::refused::Refused;

const KEYS: [&str; 33] = [
    "field",
    "season",
    "crop",
    "units",
    "region",
    "grid.cell",
    "surface.power",
    "surface.neighbours",
    "zones.count",
    "zones.layers",
    "zones.smallest",
    "machine.swath",
    "machine.row_spacing",
    "machine.heading",
    "machine.speed",
    "machine.tank",
    "machine.flow_per_row",
    "machine.liquid_step",
    "machine.dry_step",
    "machine.passes",
    "budget.limit",
    "budget.interest",
    "people.grower",
    "people.farm",
    "people.prepared_by",
    "shed.products",
    "strips.products",
    "strips.count",
    "strips.worth",
    "strips.length",
    "strips.header",
    "strips.seed",
    "organic_carbon",
];
/// Tables whose keys are the user's own names.
const TABLES: [&str; 3] = ["prices", "shed.on_hand", "yield_goal"];

/// The parts of a dotted key that may be changed.
pub(super) fn parts(key: &str) -> Result<Vec<&str>, Refused> {
    let is_name = |name: &str| {
        let is_letter = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
        !name.is_empty() && name.len() <= 60 && name.chars().all(is_letter)
    };
    let own_name = |table: &&str| {
        let rest = key
            .strip_prefix(*table)
            .and_then(|rest| rest.strip_prefix('.'));
        rest.is_some_and(is_name)
    };
    if KEYS.contains(&key) || TABLES.iter().any(own_name) {
        return Ok(key.split('.').collect());
    }
    let what = format!("\"{key}\" is not a key that is changed here; change it in the plan file");
    Err(Refused::Malformed(what))
}
