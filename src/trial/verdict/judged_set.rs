use super::judge::Verdict;
use crate::trial::strip_plan::StripSet;

/// The verdict on one set of strips.
#[derive(Debug)]
pub struct JudgedSet {
    /// The set as it was laid.
    pub set: StripSet,
    /// What the harvest says.
    pub verdict: Verdict,
    /// How many clean points lie on its strips.
    pub points_on_strips: usize,
}
