//! The results of a plan, checked: what came after emergence and after harvest.

use std::path::{Path, PathBuf};

use serde::Serialize;

use super::people::Day;
use super::season_role::{SeasonRole, word_of};
use crate::provenance::Place;

/// What a file of results holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum ResultKind {
    /// A yield monitor's records.
    Yield,
    /// Stand counts.
    Stand,
    /// Days to emergence.
    Emergence,
    /// Refractometer readings of leaf sap.
    Brix,
    /// What was truly applied.
    Applied,
    /// Soil cores taken again.
    Cores,
    /// Contents of leaves.
    Tissue,
    /// Highest and lowest temperature of each day.
    Weather,
}

impl ResultKind {
    /// Every kind with its word in the plan.
    pub const WORDS: [(&'static str, Self); 8] = [
        ("yield", Self::Yield),
        ("stand", Self::Stand),
        ("emergence", Self::Emergence),
        ("brix", Self::Brix),
        ("applied", Self::Applied),
        ("cores", Self::Cores),
        ("tissue", Self::Tissue),
        ("weather", Self::Weather),
    ];

    /// Its word in the plan.
    #[must_use]
    pub fn name(self) -> &'static str {
        word_of(&Self::WORDS, self)
    }

    /// Whether it is of the season: what `follow` reads.
    #[must_use]
    pub fn is_of_season(self) -> bool {
        matches!(
            self,
            Self::Stand | Self::Emergence | Self::Brix | Self::Tissue | Self::Weather
        )
    }
}

/// What a column of a yield monitor, or of the log of a machine that applied something, is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum YieldRole {
    /// Yield as harvested, at the grain's own moisture.
    Yield,
    /// Yield at trade moisture.
    DryYield,
    /// Mass flow of wet grain.
    Flow,
    /// Moisture of the grain, percent.
    Moisture,
    /// Distance driven in a record.
    Distance,
    /// Cutting width.
    Width,
    /// Seconds that a record stands for.
    Seconds,
    /// Seconds since some beginning.
    Time,
    /// Rate that was applied, of a planter or spreader.
    AppliedRate,
}

impl YieldRole {
    /// Every role with its word in the plan.
    pub const WORDS: [(&'static str, Self); 9] = [
        ("yield", Self::Yield),
        ("dry_yield", Self::DryYield),
        ("flow", Self::Flow),
        ("moisture", Self::Moisture),
        ("distance", Self::Distance),
        ("width", Self::Width),
        ("seconds", Self::Seconds),
        ("time", Self::Time),
        ("applied_rate", Self::AppliedRate),
    ];

    /// Its word in the plan.
    #[must_use]
    pub fn name(self) -> &'static str {
        word_of(&Self::WORDS, self)
    }
}

/// One file of results.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ResultSettings {
    /// The file.
    pub file: PathBuf,
    /// What it holds.
    pub kind: ResultKind,
    /// The product that was applied, of a log.
    pub product: Option<String>,
    /// The season that it is of; the plan's own where absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub season: Option<u16>,
    /// The day of the work, of a log.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<Day>,
    /// CRS as text for PROJ, where the file does not say it.
    pub crs: Option<String>,
    /// Columns of a yield monitor: name, what it is, unit.
    pub columns: Vec<(String, YieldRole, Option<String>)>,
    /// Columns of a file of the season: name, what it is, unit.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub season_columns: Vec<(String, SeasonRole, Option<String>)>,
    /// Where in the plan file this stands.
    pub place: Place,
}

impl ResultSettings {
    /// A file that is named outside of a plan: nothing is said of it but what it holds.
    #[must_use]
    pub fn of_file(file: &Path, kind: ResultKind) -> Self {
        Self {
            file: file.to_owned(),
            kind,
            product: None,
            season: None,
            date: None,
            crs: None,
            columns: Vec::new(),
            season_columns: Vec::new(),
            place: Place::file(file.display().to_string()),
        }
    }
}
