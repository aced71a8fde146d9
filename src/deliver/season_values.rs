use crate::past::{EarlierApplied, PastRun, SinceLastTime};

/// What earlier seasons bring to the files of this one; nothing where the plan names none.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SeasonValues {
    /// What became of the field since the last of them.
    pub since: Option<SinceLastTime>,
    /// The earlier seasons, by rising year.
    pub runs: Vec<PastRun>,
    /// What the logs say of their zones.
    pub applied: Vec<EarlierApplied>,
}
