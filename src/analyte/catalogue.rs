//! The analyte catalogue: canonical units, accepted units, ranges and names, read once from `catalogue.toml`.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;
use unicode_normalization::UnicodeNormalization;

use super::Analyte;
use crate::toml_tree::built_in;

/// The whole catalogue.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Catalogue {
    /// Bulk density in g/cm³ that the trade's mass of soil implies.
    pub trade_bulk_density: f64,
    /// Where the errors of [`Repeat`] come from.
    pub repeat_source: String,
    /// Days of the year that two samplings may lie apart and still be compared.
    pub same_season_days: u32,
    /// Samples that are older than this many seasons are told.
    pub oldest_seasons: u16,
    /// From what difference on two results of one sample conflict.
    pub results_conflict_from: ConflictFrom,
    /// Words that may stand in a column's name without a meaning of their own.
    pub(super) filler: Vec<String>,
    /// Units whose spelling falls apart when a name is cut into words, with one that does not.
    pub(super) unit_spellings: BTreeMap<String, String>,
    /// Words that make a column a recommendation.
    pub(super) recommendation: Vec<String>,
    pub(super) unit_set: BTreeMap<String, UnitSet>,
    #[serde(rename = "analyte")]
    entries: Vec<CatalogueEntry>,
}

/// The difference of two results of one sample that is more than a laboratory's repeats.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ConflictFrom {
    /// Of a pH, in its units.
    pub ph: f64,
    /// Of everything else, a share of the larger, 0 to 1.
    pub share_of_the_larger: f64,
}

/// The units that one kind of quantity is reported in.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UnitSet {
    /// The unit that values are kept in.
    pub canonical: String,
    /// Accepted units in plain form with the factor to the canonical one.
    pub units: BTreeMap<String, f64>,
    /// Units of mass per area with the factor to kg/ha; they need depth and bulk density.
    #[serde(default)]
    pub per_area: BTreeMap<String, f64>,
    /// Units of mass per volume of soil, which are refused.
    #[serde(default)]
    pub per_volume: Vec<String>,
    /// Pounds in a bushel by crop, for yields.
    #[serde(default)]
    pub bushel_pounds: BTreeMap<String, f64>,
}

/// The oxide that a nutrient may be reported as.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Oxide {
    /// In plain form: `p2o5`.
    pub name: String,
    /// Mass of oxide per mass of element.
    pub factor: f64,
}

/// What two years' results differ by where the soil did not change.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Repeat {
    laboratory: f64,
    season: f64,
    #[serde(default)]
    percent: bool,
}

impl Repeat {
    /// Standard deviations of a value that the laboratory and the time of sampling bring, canonical unit.
    #[must_use]
    pub fn errors_of(self, value: f64) -> (f64, f64) {
        let size = if self.percent {
            value.abs() / 100.0
        } else {
            1.0
        };
        (self.laboratory * size, self.season * size)
    }
}

/// What the catalogue knows of one analyte.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CatalogueEntry {
    name: String,
    pub(super) unit_set: String,
    /// What two years differ by; `None` where nobody compares them.
    #[serde(default)]
    pub repeat: Option<Repeat>,
    /// Range outside of which somebody should look, canonical unit.
    pub plausible: (f64, f64),
    /// Range outside of which the number is wrong, canonical unit.
    pub possible: (f64, f64),
    /// Whether results of different methods are different numbers.
    pub needs_method: bool,
    /// Oxide form.
    #[serde(default)]
    pub oxide: Option<Oxide>,
    /// ppm in one milliequivalent per 100 g, for exchangeable cations.
    #[serde(default)]
    pub ppm_per_milliequivalent: Option<f64>,
    /// Charge of an ion that carries more than one.
    #[serde(default)]
    pub charge: Option<u8>,
    pub(super) names: Vec<String>,
    pub(super) methods: BTreeMap<String, Vec<String>>,
    pub(super) full: BTreeMap<String, Vec<String>>,
}

/// How a unit leads to the canonical one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Conversion {
    /// Canonical = number x factor.
    Factor(f64),
    /// kg/ha = number x factor; canonical ppm needs depth and bulk density.
    PerArea(f64),
}

/// Why a unit is not accepted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum UnitRefusal {
    /// Not a unit of this analyte; the accepted ones.
    Unknown(Vec<String>),
    /// Mass per volume of soil.
    PerVolume,
    /// An amount of a substance whose ion carries more than one charge: the unit does not say which of the two is counted.
    ChargeOrAmount,
    /// Bushels of a crop whose weight is not known; the crops that are.
    Bushels(Vec<String>),
}

static CATALOGUE: LazyLock<Catalogue> =
    LazyLock::new(|| built_in(include_str!("catalogue.toml"), "the built-in catalogue"));

impl CatalogueEntry {
    /// Names of the test methods that the catalogue knows for the analyte.
    pub fn method_names(&self) -> impl Iterator<Item = &str> {
        self.methods.keys().map(String::as_str)
    }
}

impl Catalogue {
    /// The built-in catalogue.
    #[must_use]
    pub fn built_in() -> &'static Self {
        &CATALOGUE
    }

    /// What is known of an analyte; `None` for a covariate.
    #[must_use]
    pub fn entry(&self, analyte: &Analyte) -> Option<&CatalogueEntry> {
        if matches!(analyte, Analyte::Covariate(_)) {
            return None;
        }
        let name = analyte.name();
        self.entries.iter().find(|entry| entry.name == name)
    }

    /// Analytes in the catalogue's order with their entries.
    pub fn entries(&self) -> impl Iterator<Item = (Analyte, &CatalogueEntry)> {
        self.entries
            .iter()
            .filter_map(|entry| Some((entry.name.parse().ok()?, entry)))
    }

    /// The canonical unit of an analyte; empty for a covariate.
    #[must_use]
    pub fn canonical_unit(&self, analyte: &Analyte) -> &str {
        self.units_of(analyte)
            .map_or("", |set| set.canonical.as_str())
    }

    pub(super) fn units_of(&self, analyte: &Analyte) -> Option<&UnitSet> {
        self.unit_set.get(&self.entry(analyte)?.unit_set)
    }

    /// How a unit leads to the canonical unit of an analyte. Oxides are written `ppm P2O5`, `lb/ac K2O`.
    ///
    /// # Errors
    /// Where the unit is not accepted for the analyte.
    pub fn conversion(
        &self,
        analyte: &Analyte,
        unit: &str,
        crop: &str,
    ) -> Result<Conversion, UnitRefusal> {
        let (Some(entry), Some(set)) = (self.entry(analyte), self.units_of(analyte)) else {
            return Ok(Conversion::Factor(1.0));
        };
        let mut plain = plain_unit(unit);
        let mut oxide = 1.0;
        if let Some(known) = &entry.oxide
            && let Some(rest) = plain
                .strip_suffix(&known.name)
                .or_else(|| plain.strip_prefix(&known.name))
        {
            oxide = 1.0 / known.factor;
            plain = rest.to_owned();
        }
        if let Some(factor) = set.units.get(&plain) {
            return Ok(Conversion::Factor(factor * oxide));
        }
        if let Some(factor) = set.per_area.get(&plain) {
            return Ok(Conversion::PerArea(factor * oxide));
        }
        if set.per_volume.contains(&plain) {
            return Err(UnitRefusal::PerVolume);
        }
        if entry.charge.is_some() && plain == "mmol/kg" {
            return Err(UnitRefusal::ChargeOrAmount);
        }
        if let (Some(ppm), Some(charge)) =
            (entry.ppm_per_milliequivalent, self.unit_set.get("charge"))
            && let Some(factor) = charge.units.get(&plain)
        {
            return Ok(Conversion::Factor(factor * ppm));
        }
        if plain.starts_with("bu/") && !set.bushel_pounds.is_empty() {
            return bushels(set, &plain, crop);
        }
        Err(UnitRefusal::Unknown(
            set.units
                .keys()
                .chain(set.per_area.keys())
                .filter(|name| !name.is_empty())
                .cloned()
                .collect(),
        ))
    }

    /// Whether any analyte may be reported in a unit, given in plain form.
    #[must_use]
    pub fn has_unit(&self, plain: &str) -> bool {
        let in_set = |set: &UnitSet| {
            set.units.contains_key(plain)
                || set.per_area.contains_key(plain)
                || set.per_volume.iter().any(|u| u == plain)
        };
        !plain.is_empty() && (self.unit_set.values().any(in_set) || plain.starts_with("bu/"))
    }

    /// The accepted factor units of an analyte that differ from one another, for naming a unit mistake.
    pub fn factors(&self, analyte: &Analyte) -> impl Iterator<Item = (&str, f64)> {
        self.units_of(analyte).into_iter().flat_map(|set| {
            set.units
                .iter()
                .map(|(name, factor)| (name.as_str(), *factor))
        })
    }
}

/// Bushels per acre of a crop whose weight is known.
fn bushels(set: &UnitSet, plain: &str, crop: &str) -> Result<Conversion, UnitRefusal> {
    let pounds = set.bushel_pounds.get(&crop.to_lowercase());
    let per_area = set
        .units
        .get("lb/ac")
        .filter(|_| matches!(plain, "bu/ac" | "bu/acre" | "bu/a"));
    match (pounds, per_area) {
        (Some(pounds), Some(factor)) => Ok(Conversion::Factor(pounds * factor)),
        _ => Err(UnitRefusal::Bushels(
            set.bushel_pounds.keys().cloned().collect(),
        )),
    }
}

/// A unit text in the form in which the catalogue lists it: compatibility forms folded, lower case, no blanks,
/// `per` and a dot between letters read as `/`.
#[must_use]
pub fn plain_unit(text: &str) -> String {
    let folded: String = if text.is_ascii() {
        text.to_ascii_lowercase()
    } else {
        text.nfkc()
            .flat_map(char::to_lowercase)
            .map(|c| if c == 'μ' || c == 'µ' { 'u' } else { c })
            .collect()
    };
    let plain: String = folded
        .replace(" per ", "/")
        .chars()
        .filter(|c| !c.is_whitespace())
        .collect();
    let mut out = String::with_capacity(plain.len());
    let chars: Vec<char> = plain.chars().collect();
    for (at, &c) in chars.iter().enumerate() {
        let next_is_letter = chars.get(at + 1).is_some_and(|n| n.is_alphabetic());
        let is_between_letters =
            c == '.' && at > 0 && chars[at - 1].is_alphabetic() && next_is_letter;
        out.push(if is_between_letters { '/' } else { c });
    }
    out.trim_end_matches('.').to_owned()
}

#[cfg(test)]
#[path = "catalogue_tests.rs"]
mod tests;
