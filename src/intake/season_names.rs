//! Names of columns in files of the season: counts, Brix, tissue, weather.

use super::columns::Header;
use crate::analyte::folded_name;
use crate::plan::SeasonRole;

/// Names by role, words apart and less their unit. Common practice of scouting sheets.
const NAMES: &[(SeasonRole, &[&str])] = &[
    (SeasonRole::Zone, &["zone", "zone number", "zone no"]),
    (SeasonRole::Strip, &["strip", "check strip", "strip name"]),
    (SeasonRole::Field, &["field", "field name"]),
    (SeasonRole::Crop, &["crop"]),
    (
        SeasonRole::Date,
        &[
            "date",
            "day",
            "read on",
            "counted on",
            "sampled",
            "sample date",
        ],
    ),
    (SeasonRole::Time, &["time", "time of day", "hour", "clock"]),
    (
        SeasonRole::Planted,
        &[
            "planted",
            "planting date",
            "date planted",
            "planted on",
            "sown",
        ],
    ),
    (
        SeasonRole::Population,
        &[
            "population",
            "target population",
            "target",
            "planting population",
            "seeded population",
            "seeds",
        ],
    ),
    (
        SeasonRole::Count,
        &[
            "count",
            "plants",
            "plant count",
            "stand count",
            "plants counted",
            "stand",
        ],
    ),
    (
        SeasonRole::RowLength,
        &["row length", "length", "length of row"],
    ),
    (
        SeasonRole::RowSpacing,
        &["row spacing", "spacing", "row width"],
    ),
    (SeasonRole::Hoop, &["hoop", "hoop diameter", "diameter"]),
    (
        SeasonRole::Days,
        &[
            "days",
            "days to emergence",
            "emergence days",
            "days to emerge",
        ],
    ),
    (
        SeasonRole::DegreeDays,
        &[
            "degree days",
            "gdd",
            "growing degree days",
            "gdd to emergence",
        ],
    ),
    (
        SeasonRole::EmergedOn,
        &[
            "emerged",
            "emerged on",
            "emergence",
            "emergence date",
            "date emerged",
        ],
    ),
    (
        SeasonRole::LateShare,
        &["late", "late plants", "late share", "plants late"],
    ),
    (SeasonRole::LateWeeks, &["weeks late", "late weeks"]),
    (
        SeasonRole::Part,
        &["part", "plant part", "leaf or stem", "tissue"],
    ),
    (
        SeasonRole::Temperature,
        &[
            "temperature",
            "temp",
            "sap temperature",
            "sap temp",
            "prism temperature",
        ],
    ),
    (
        SeasonRole::Compensated,
        &["compensated", "atc", "automatic compensation"],
    ),
    (
        SeasonRole::Brix,
        &["brix", "sap brix", "brix reading", "leaf brix"],
    ),
    (SeasonRole::Round, &["round", "reading round", "visit"]),
    (SeasonRole::Plant, &["plant", "plant number", "plant no"]),
    (
        SeasonRole::Person,
        &["person", "who", "read by", "reader", "by"],
    ),
    (
        SeasonRole::Highest,
        &["highest", "max", "tmax", "maximum", "high", "t max"],
    ),
    (
        SeasonRole::Lowest,
        &["lowest", "min", "tmin", "minimum", "low", "t min"],
    ),
    (SeasonRole::Phosphorus, &["p", "phosphorus"]),
    (SeasonRole::Potassium, &["k", "potassium"]),
    (SeasonRole::Calcium, &["ca", "calcium"]),
    (SeasonRole::Magnesium, &["mg", "magnesium"]),
    (SeasonRole::Sulfur, &["s", "sulfur", "sulphur"]),
    (SeasonRole::Zinc, &["zn", "zinc"]),
    (SeasonRole::Manganese, &["mn", "manganese"]),
    (SeasonRole::Boron, &["b", "boron"]),
    (SeasonRole::Iron, &["fe", "iron"]),
];

/// Units as they stand at the end of a name.
const UNITS: [&str; 22] = [
    "ft",
    "feet",
    "in",
    "inch",
    "inches",
    "m",
    "cm",
    "mm",
    "c",
    "f",
    "degc",
    "degf",
    "%",
    "pct",
    "ppm",
    "mg/kg",
    "/ac",
    "/acre",
    "/ha",
    "plants/ac",
    "plants/ha",
    "weeks",
];

/// A column that was recognised.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonColumn {
    /// What it is.
    pub role: SeasonRole,
    /// Index in the row.
    pub at: usize,
    /// Its name in the file.
    pub name: String,
    /// Its unit, from the plan, its own name, or the row of units.
    pub unit: Option<String>,
}

/// The columns as the user says them, then those whose names are known.
pub(super) fn recognised(
    header: &Header,
    said: &[(String, SeasonRole, Option<String>)],
) -> Vec<SeasonColumn> {
    let names = &header.names;
    let unit_of = |at: usize, said: Option<&String>| {
        let own = || split_unit(&names[at]).1;
        let row = || header.units.get(at).cloned().flatten();
        said.cloned().or_else(own).or_else(row)
    };
    let mut found: Vec<SeasonColumn> = said
        .iter()
        .filter_map(|(name, role, unit)| {
            let at = names.iter().position(|own| own == name)?;
            Some(SeasonColumn {
                role: *role,
                at,
                name: name.clone(),
                unit: unit_of(at, unit.as_ref()),
            })
        })
        .collect();
    for (role, words) in NAMES {
        if found.iter().any(|column| column.role == *role) {
            continue;
        }
        let is_free = |at: &usize| found.iter().all(|column| column.at != *at);
        let named = |word: &&str| {
            (0..names.len()).filter(is_free).find(|&at| {
                // A letter alone is an element only where a unit stands with it.
                split_unit(&names[at]).0 == **word
                    && (word.len() > 1 || unit_of(at, None).is_some())
            })
        };
        if let Some(at) = words.iter().find_map(named) {
            found.push(SeasonColumn {
                role: *role,
                at,
                name: names[at].clone(),
                unit: unit_of(at, None),
            });
        }
    }
    found
}

/// A column's name in lower case, words apart, less its unit; and the unit.
fn split_unit(name: &str) -> (String, Option<String>) {
    let folded = folded_name(name).to_lowercase();
    let is_part = |c: char| c.is_alphanumeric() || c == '/' || c == '%';
    let mut words: Vec<&str> = folded
        .split(|c: char| !is_part(c))
        .filter(|word| !word.is_empty())
        .collect();
    let is_unit = words.len() > 1 && words.last().is_some_and(|word| UNITS.contains(word));
    let unit = if is_unit { words.pop() } else { None };
    (words.join(" "), unit.map(str::to_owned))
}
