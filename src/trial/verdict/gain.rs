//! What the checks of a set say: a gain with all that goes with it, or why there is none.

use serde::Serialize;

use crate::trial::statistics::{Estimate, Finding, PairedTest, Randomisation, Scatter, Spatial};

/// Why a zone, or the field, cannot be judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NotJudged {
    /// Fewer than two checks have harvest that counts on them and on both sides.
    FewChecks {
        /// How many have.
        found: usize,
    },
    /// Nothing was harvested where no check lay beside, so that the scatter is not known.
    NoPlacebos,
}

/// What one check says in a zone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CheckGain {
    /// Name of the check.
    pub check: String,
    /// Mean of its sides less the check, kg/ha.
    pub gain: f64,
    /// Metres that count.
    pub metres: f64,
}

/// A gain with all that goes with it. Yields in kg/ha at standard moisture.
#[derive(Debug, Clone, PartialEq)]
pub struct Gain {
    /// Check by check.
    pub checks: Vec<CheckGain>,
    /// Gain and interval.
    pub estimate: Estimate,
    /// Scatter of the placebos.
    pub scatter: Scatter,
    /// The placebos themselves.
    pub placebos: Vec<f64>,
    /// Whether the scatter had to be taken over other zones, because too few passes of its own had no check.
    pub is_pooled: bool,
    /// The least gain that could have been seen.
    pub least_seen: f64,
    /// What the other placements say.
    pub randomisation: Option<Randomisation>,
    /// Its p value corrected for the number of zones; the plain one for the whole field.
    pub corrected_p: Option<f64>,
    /// Paired t over the checks.
    pub paired: Option<PairedTest>,
    /// Gain that pays, where it is known.
    pub break_even: Option<f64>,
    /// The finding, where the break-even is known.
    pub finding: Option<Finding>,
    /// Least squares with a spatial error, beside it.
    pub opinion: Option<SecondOpinion>,
}

/// Least squares with a standard error from a spatial covariance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SecondOpinion {
    /// Gain, kg/ha.
    pub gain: f64,
    /// Lower and upper end of the 90 % interval.
    pub interval: (f64, f64),
    /// The covariance.
    pub spatial: Spatial,
}
