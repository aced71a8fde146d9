/// A step of the work, in the order in which they are done. Diagnosis and rates are done again where zones are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Step {
    /// The plan is read.
    Plan,
    /// The rulebook is read.
    Rulebook,
    /// The files that the plan names are read.
    Intake,
    /// The field is laid out.
    Field,
    /// The maps are drawn.
    Surface,
    /// The zones are found.
    Zones,
    /// What limits each zone is looked for.
    Diagnosis,
    /// The rates are calculated.
    Rates,
    /// It is tried what zones are worth.
    Choice,
    /// Check strips.
    Trial,
    /// The result files are made.
    Deliver,
}

impl Step {
    /// The name of the stage, as in the timings of `run.json`.
    #[must_use]
    pub fn stage(self) -> &'static str {
        match self {
            Self::Plan => "plan",
            Self::Rulebook => "rulebook",
            Self::Intake => "intake",
            Self::Field => "field",
            Self::Surface => "surface",
            Self::Zones => "zones",
            Self::Diagnosis => "diagnosis",
            Self::Rates => "rates",
            Self::Choice => "choice",
            Self::Trial => "trial",
            Self::Deliver => "deliver",
        }
    }

    /// What is being done, for a line of progress.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Plan => "reading the plan",
            Self::Rulebook => "reading the rulebook",
            Self::Intake => "reading the files",
            Self::Field => "laying out the field",
            Self::Surface => "drawing the maps",
            Self::Zones => "finding the zones",
            Self::Diagnosis => "looking for what limits each zone",
            Self::Rates => "calculating the rates",
            Self::Choice => "weighing what zones are worth",
            Self::Trial => "laying the check strips",
            Self::Deliver => "making the files",
        }
    }
}

/// Who is told how far the work is, and may stop it.
pub trait Watch: Sync {
    /// A step begins.
    fn begins(&self, _step: Step) {}

    /// Whether the work is no longer wanted; asked before each step.
    fn is_cancelled(&self) -> bool {
        false
    }
}

/// Nobody watches.
#[derive(Debug, Clone, Copy, Default)]
pub struct Unwatched;

impl Watch for Unwatched {}
