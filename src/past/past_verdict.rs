//! What the check strips of an earlier run said, zone by zone: from its `verdict.json`.

use serde::Deserialize;

/// Name of the file in the output folder.
pub(super) const VERDICT_FILE: &str = "verdict.json";

/// The verdict of one harvest.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub(super) struct PastVerdict {
    /// The program that wrote it.
    pub program: String,
    /// Crop.
    pub crop: String,
    /// SHA-256 of the run's record whose strips were harvested.
    pub run_sha256: String,
    /// The files that were judged.
    #[serde(default)]
    pub inputs: Vec<JudgedFile>,
    /// The sets of strips.
    pub sets: Vec<PastSet>,
}

/// A file that was judged.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub(super) struct JudgedFile {
    /// SHA-256 of its bytes.
    pub sha256: String,
}

/// One set of strips.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub(super) struct PastSet {
    /// Products that were judged.
    pub products: Vec<String>,
    /// Unit of the yields.
    pub unit: String,
    /// Zone by zone.
    pub zones: Vec<PastGain>,
}

/// What the strips say of a zone.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub(super) struct PastGain {
    /// Number of the zone.
    pub zone: Option<u32>,
    /// Gain of the product.
    pub gain: Option<f64>,
    /// Its standard error.
    pub standard_error: Option<f64>,
    /// Gain that pays.
    pub pays_from: Option<f64>,
    /// Strips that count.
    #[serde(default)]
    pub strips: usize,
}
