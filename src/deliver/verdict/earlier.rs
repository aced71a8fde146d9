//! A verdict on the disk: what pooling needs of `verdict.json`.

use std::path::Path;

use serde::Deserialize;

use crate::deliver::error::DeliverError;
use crate::deliver::run_record::PROGRAM;
use crate::files::{Files, is_as_written};

/// Name of the file.
const VERDICT_FILE: &str = "verdict.json";
/// Largest verdict that is read, in bytes.
const LARGEST_VERDICT: u64 = 64 << 20;

/// What one harvest said.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct EarlierVerdict {
    /// The folder, as it was named.
    #[serde(skip)]
    pub folder: String,
    /// The program that wrote it.
    program: String,
    /// Name of the field.
    pub field: String,
    /// Season of the harvest.
    pub season: u16,
    /// Crop.
    pub crop: String,
    /// SHA-256 of the run's record whose strips were harvested.
    pub run_sha256: String,
    /// The files that were judged.
    #[serde(default)]
    pub inputs: Vec<EarlierInput>,
    /// The sets of strips.
    pub sets: Vec<EarlierSet>,
}

/// A file that was judged.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct EarlierInput {
    /// SHA-256 of its bytes.
    pub sha256: String,
}

/// What one set of strips said.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct EarlierSet {
    /// Its treatment.
    pub treatment: String,
    /// Products that were judged.
    pub products: Vec<String>,
    /// Whether the strips got more than the zone rather than less.
    #[serde(default)]
    pub gets_more: bool,
    /// Unit of its yields.
    pub unit: String,
    /// The judged zones together.
    pub field: EarlierGain,
}

/// The gain over the judged zones.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct EarlierGain {
    /// Gain, in the set's unit; `None` where nothing was judged.
    pub gain: Option<f64>,
    /// Its standard error.
    pub standard_error: Option<f64>,
    /// Its 90 % interval.
    pub interval_90: Option<(f64, f64)>,
    /// Gain that pays.
    pub pays_from: Option<f64>,
    /// Strips that count.
    pub strips: usize,
}

impl EarlierVerdict {
    /// Reads the verdict of a folder.
    ///
    /// # Errors
    /// Where the folder holds none of this program.
    pub fn open(folder: &Path) -> Result<Self, DeliverError> {
        let failed = |cause: String| DeliverError::Read {
            path: folder.join(VERDICT_FILE),
            cause,
        };
        let bytes = Files::folder(folder)
            .read(Path::new(VERDICT_FILE), LARGEST_VERDICT)
            .map_err(|cause| {
                failed(format!(
                    "{cause}; judge this harvest first: lowstave verdict DIR --results FILE"
                ))
            })?;
        let verdict: Self = serde_json::from_slice(&bytes)
            .map_err(|cause| failed(format!("it is not a verdict ({cause})")))?;
        if verdict.program != PROGRAM {
            let program = crate::text::one_line(&verdict.program);
            return Err(failed(format!("it was written by \"{program}\"")));
        }
        if !is_as_written(&bytes) {
            return Err(failed(
                "it was edited since it was written, or an earlier version wrote it; judge this harvest again: lowstave verdict DIR --results FILE --force"
                    .to_owned(),
            ));
        }
        Ok(Self {
            folder: folder.display().to_string(),
            ..verdict
        })
    }
}
