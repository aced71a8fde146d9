//! What came of the check strips: `verdict.txt`, `verdict.html`, `verdict.json`, and the points kept and dropped as a GeoPackage.

mod earlier;
mod facts;
mod json;
mod page;
mod picture;
#[cfg(feature = "geopackage")]
mod points;
mod pooled;
mod text;

pub use earlier::{EarlierGain, EarlierInput, EarlierSet, EarlierVerdict};
pub use facts::{SetFacts, ZoneVerdict};
pub use pooled::{PooledTreatment, PooledTrial, pooled_files, pooled_lines};

use rayon::prelude::*;

use super::error::DeliverError;
use super::finished_run::RunFacts;
use super::output_file::OutputFile;
use crate::intake::InputFile;
use crate::plan::YieldRole;
use crate::remark::Remark;
use crate::trial::harvest::YieldPoint;
use crate::trial::verdict::HarvestVerdict;

/// A column as it was read: file, name, what it is, unit.
pub type ReadColumn = (String, String, YieldRole, Option<String>);

/// All that the verdict's files are made from.
#[derive(Debug)]
pub struct VerdictInput {
    /// The run whose strips are judged.
    pub facts: RunFacts,
    /// The records as read.
    pub points: Vec<YieldPoint>,
    /// The columns as read.
    pub columns: Vec<ReadColumn>,
    /// What they say.
    pub harvest: HarvestVerdict,
    /// The files that were read.
    pub inputs: Vec<InputFile>,
    /// What there is to say.
    pub remarks: Vec<Remark>,
}

/// Makes one file.
type Maker = fn(&VerdictInput, &[SetFacts]) -> Result<OutputFile, DeliverError>;

/// Makes the files of a verdict. Nothing is written.
///
/// # Errors
/// Where a place cannot be brought to degrees, or a file cannot be made.
pub fn verdict_files(input: &VerdictInput) -> Result<Vec<OutputFile>, DeliverError> {
    let sets = facts::facts(input);
    let makers: &[Maker] = &[
        #[cfg(feature = "geopackage")]
        points::file,
        page::file,
        text::file,
    ];
    let made: Result<Vec<OutputFile>, DeliverError> =
        makers.par_iter().map(|make| make(input, &sets)).collect();
    let mut files = made?;
    files.push(json::file(input, &sets, &files)?);
    Ok(files)
}

/// The verdict in a few lines for the terminal.
#[must_use]
pub fn verdict_lines(input: &VerdictInput) -> Vec<String> {
    text::summary(&facts::facts(input))
}
