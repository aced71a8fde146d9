//! Files of a yield monitor: which column is the flow, the moisture, the yield, and where each record stands.

use std::path::Path;
use std::sync::Arc;

use super::columns::Header;
use super::columns::nearest::require_named;
use super::columns::roles::is_place_name;
use super::context::{Context, ReadingRules};
use super::draft::sketch::sketch;
use super::error::IntakeError;
use super::read::read_points;
use super::source::place_of;
use super::survey::{InputFile, PointTable};
use crate::analyte::{Analyte, folded_name};
use crate::files::Files;
use crate::plan::{
    BelowDetection, ColumnMeaning, Depths, FileForm, NumberForm, PointKind, PointsSettings,
    YieldRole,
};
use crate::provenance::Place;
use crate::remark::Remark;

/// A yield monitor's file, read.
#[derive(Debug, Clone)]
pub struct YieldFile {
    /// Places and rows; the layers are the columns below.
    pub table: PointTable,
    /// The columns that were recognised, in the order of their roles.
    pub columns: Vec<YieldColumn>,
    /// Columns that are not used.
    pub unused: Vec<String>,
    /// The file, for the record.
    pub inputs: Vec<InputFile>,
    /// What reading made us say.
    pub remarks: Vec<Remark>,
}

/// A column with what it was taken for.
#[derive(Debug, Clone, PartialEq)]
pub struct YieldColumn {
    /// What it is.
    pub role: YieldRole,
    /// Its name in the file.
    pub name: String,
    /// Its unit, from the plan or its own name; `None` where neither says it.
    pub unit: Option<String>,
    /// Whether the plan said what it is.
    pub is_said: bool,
    /// One value per row; NaN where there is none.
    pub values: Vec<f64>,
}

/// What a user says of a column: its name, what it is, and its unit.
pub type SaidColumn = (String, YieldRole, Option<String>);

/// Words that a column's name holds, by role, the more telling first. Common practice of yield monitors' exports.
const WORDS: &[(YieldRole, &[&str])] = &[
    (
        YieldRole::DryYield,
        &[
            "dry yield",
            "yield dry",
            "yld vol dr",
            "yld mass d",
            "dry yld",
            "yld dry",
            "yielddry",
            "dryyield",
            "yield dry mass",
            "yield dry vol",
            "yld vol dry",
            "yld mass dry",
            "dry yield mass",
            "ertrag trocken",
        ],
    ),
    (
        YieldRole::Moisture,
        &[
            "moisture",
            "moist",
            "grain moisture",
            "mst",
            "feuchte",
            "kornfeuchte",
            "humedad",
            "umidade",
        ],
    ),
    (
        YieldRole::Flow,
        &[
            "mass flow",
            "flow",
            "massflow",
            "crop flow",
            "mass",
            "grain flow",
        ],
    ),
    (
        YieldRole::Distance,
        &["distance", "dist", "distnc", "travel"],
    ),
    (
        YieldRole::Width,
        &[
            "width",
            "swath width",
            "swth wdth",
            "swath",
            "header width",
            "cut width",
        ],
    ),
    (
        YieldRole::Seconds,
        &[
            "seconds",
            "interval",
            "logging interval",
            "cycle",
            "duration",
            "log interval",
        ],
    ),
    (
        YieldRole::Time,
        &["time", "gps time", "timestamp", "time s", "gpstime"],
    ),
    (
        YieldRole::Yield,
        &[
            "yield",
            "yld",
            "yield mass",
            "yield vol",
            "yld vol we",
            "yld mass w",
            "wet yield",
            "yield wet",
            "grain yield",
            "yld vol wet",
            "yld mass wet",
            "ertrag",
            "kornertrag",
            "rendement",
            "rendimiento",
            "rendimento",
        ],
    ),
    (
        YieldRole::AppliedRate,
        &[
            "applied rate",
            "rate applied",
            "as applied",
            "as applied rate",
            "actual rate",
            "rate actual",
            "appl rate",
            "applrate",
            "appliedrate",
            "rate",
            "ausbringmenge",
            "dosis aplicada",
            "dose aplicada",
            "dose appliquee",
        ],
    ),
];
/// Columns of a yield monitor.
pub const HARVEST_COLUMNS: &[YieldRole] = &[
    YieldRole::DryYield,
    YieldRole::Moisture,
    YieldRole::Flow,
    YieldRole::Distance,
    YieldRole::Width,
    YieldRole::Seconds,
    YieldRole::Time,
    YieldRole::Yield,
];
/// Columns of a log of what was applied.
pub const LOG_COLUMNS: &[YieldRole] = &[YieldRole::AppliedRate];
/// Units as they stand in names of columns.
const UNITS: &[&str] = &[
    "bu/ac",
    "bu/acre",
    "t/ha",
    "tonne/ha",
    "tonnes/ha",
    "kg/ha",
    "lb/ac",
    "dt/ha",
    "q/ha",
    "gal/ac",
    "gal/acre",
    "fl oz/ac",
    "oz/ac",
    "l/ha",
    "ton/ac",
    "lb/acre",
    "lbs/ac",
    "lb/s",
    "lb/sec",
    "lbs/s",
    "kg/s",
    "t/h",
    "ft",
    "feet",
    "in",
    "inch",
    "inches",
    "m",
    "cm",
    "s",
    "sec",
    "%",
    "pct",
];

/// Reads a yield monitor's file, or a log of what was applied. Columns that the user names are what the user says; of the others those of
/// the `wanted` roles are recognised by their names.
///
/// # Errors
/// Everything that is wrong in the file, and a named column that is not there.
pub fn read_yield_file(
    files: &Files,
    path: &Path,
    said: &[SaidColumn],
    crs: Option<&str>,
    (crop, season): (&str, u16),
    wanted: &[YieldRole],
) -> Result<YieldFile, Vec<IntakeError>> {
    let header = sketch(files, path).map_err(|error| vec![error])?.header;
    require_named(&place_of(path), said, &header.names)?;
    require_same_units(path, said)?;
    let found = recognised(&header, said, wanted);
    let settings = settings_of(path, &header.names, &found, crs);
    let rules = ReadingRules {
        below_detection: BelowDetection::Missing,
        bulk_density: None,
        crop: crop.to_owned(),
        season: Some(season),
        units: crate::units::UnitSystem::Metric,
    };
    let mut context = Context::new(&settings, &rules);
    let mut inputs = Vec::new();
    let table = read_points(files, &settings, &mut context, &mut inputs);
    let Some(mut table) = table.filter(|_| context.errors.is_empty()) else {
        return Err(context.errors);
    };
    let columns = found
        .into_iter()
        .filter_map(|found| found.column(&header, &mut table))
        .collect();
    Ok(YieldFile {
        table,
        columns,
        unused: settings.ignore.clone(),
        inputs,
        remarks: context.remarks,
    })
}

/// Refuses a unit of the plan that a column's own name contradicts.
fn require_same_units(path: &Path, said: &[SaidColumn]) -> Result<(), Vec<IntakeError>> {
    let plain_unit = |unit: &str| unit.replace("tonne", "t").replace("lbs", "lb");
    let contradictions: Vec<IntakeError> = said
        .iter()
        .filter_map(|(name, role, unit)| {
            let (planned, own) = (unit.as_ref()?, plain(name).1?);
            let differs = plain_unit(planned) != plain_unit(&own);
            differs.then(|| IntakeError::NameContradictsPlan {
                place: place_of(path).in_column(name.as_str()),
                said: own.clone(),
                planned: planned.clone(),
                plan: Place::file("plan".to_owned()).at_key("results.columns"),
                line: format!(
                    "\"{name}\" = {{ is = \"{}\", unit = \"{own}\" }}, or give the column another name",
                    role.name()
                ),
            })
        })
        .collect();
    if contradictions.is_empty() {
        Ok(())
    } else {
        Err(contradictions)
    }
}

/// A column of the head with what it is taken for.
struct Found {
    role: YieldRole,
    at: usize,
    unit: Option<String>,
    is_said: bool,
}

impl Found {
    fn analyte(&self) -> Analyte {
        Analyte::Covariate(self.role.name().into())
    }

    /// The column with its values, which are taken out of the table.
    fn column(self, header: &Header, table: &mut PointTable) -> Option<YieldColumn> {
        let wanted = self.analyte();
        let mut layers = table.layers.iter_mut();
        let layer = layers.find(|layer| layer.key.analyte == wanted)?;
        Some(YieldColumn {
            role: self.role,
            name: header.names[self.at].clone(),
            unit: self.unit,
            is_said: self.is_said,
            values: std::mem::take(&mut layer.values),
        })
    }
}

/// The columns as the user says them, then those whose names are known.
fn recognised(header: &Header, said: &[SaidColumn], wanted: &[YieldRole]) -> Vec<Found> {
    let names = &header.names;
    let of_user = said.iter().filter_map(|(name, role, unit)| {
        Some(Found {
            role: *role,
            at: names.iter().position(|own| own == name)?,
            unit: unit.clone(),
            is_said: true,
        })
    });
    let mut found: Vec<Found> = of_user.collect();
    for (role, words) in WORDS.iter().filter(|(role, _)| wanted.contains(role)) {
        if found.iter().any(|known| known.role == *role) {
            continue;
        }
        let is_free = |at: usize| found.iter().all(|known| known.at != at);
        let of_word = |word: &&str| {
            let is_it = |at: usize| is_free(at) && plain(&names[at]).0 == **word;
            (0..names.len()).find(|&at| is_it(at) && holds_numbers(header, at))
        };
        if let Some(at) = words.iter().find_map(of_word) {
            let unit = plain(&names[at]).1;
            found.push(Found {
                role: *role,
                at,
                unit: unit.or_else(|| header.units.get(at).cloned().flatten()),
                is_said: false,
            });
        }
    }
    found
}

/// Whether the first rows of a column hold no text, so that a clock such as `10:42:07` is not read as a number.
fn holds_numbers(header: &Header, at: usize) -> bool {
    let cells = header.sample.iter().filter_map(|row| row.get(at));
    cells.filter(|cell| !cell.trim().is_empty()).all(|cell| {
        !cell.contains(':') && cell.matches('-').count() < 2 && cell.matches('/').count() < 2
    })
}

/// A column's name in lower case, words apart, less its unit; and the unit.
fn plain(name: &str) -> (String, Option<String>) {
    let folded = folded_name(name).to_lowercase();
    let is_part = |c: char| c.is_alphanumeric() || c == '/' || c == '%';
    let mut words: Vec<&str> = folded
        .split(|c: char| !is_part(c))
        .filter(|word| !word.is_empty())
        .collect();
    // A bare letter is a unit at the end of a name only: "Flow (lb/s)", "Yield t/ha dry", "Distance m".
    let last = words.len().saturating_sub(1);
    let is_unit = |(at, word): &(usize, &&str)| {
        UNITS.contains(*word) && (*at == last || word.contains('/')) && last > 0
    };
    let at = words.iter().enumerate().find(is_unit).map(|(at, _)| at);
    let unit = at.map(|at| words.remove(at).to_owned());
    (words.join(" "), unit)
}

fn settings_of(
    path: &Path,
    names: &[String],
    found: &[Found],
    crs: Option<&str>,
) -> PointsSettings {
    let columns = found.iter().map(|found| {
        let meaning = ColumnMeaning {
            analyte: found.analyte(),
            method: None,
            unit: None,
            depth: None,
            sure: true,
            numbers: NumberForm::default(),
            place: Place::file(path.display().to_string()),
        };
        (Arc::from(names[found.at].as_str()), meaning)
    });
    PointsSettings {
        file: path.to_owned(),
        kind: PointKind::Readings,
        crs: crs.map(str::to_owned),
        x: None,
        y: None,
        id: None,
        depths: Depths::Unknown,
        columns: columns.collect(),
        ignore: names
            .iter()
            .enumerate()
            .filter(|(at, name)| {
                found.iter().all(|found| found.at != *at)
                    && !is_place_name(name)
                    && !name.is_empty()
            })
            .map(|(_, name)| name.clone())
            .collect(),
        leave_out: Vec::new(),
        reading: FileForm::default(),
        cone: None,
        laboratory: None,
        sampled: None,
        place: place_of(path),
    }
}
