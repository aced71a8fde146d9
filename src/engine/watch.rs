use super::{Demand, Grant};

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
    /// Check strips.
    Trial,
    /// It is tried what zones are worth.
    Choice,
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
            Self::Trial => "trial",
            Self::Choice => "choice",
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
            Self::Trial => "laying the check strips",
            Self::Choice => "weighing what zones are worth",
            Self::Deliver => "making the files",
        }
    }
}

/// Who is told how far the work is, and may stop it.
pub trait Watch: Sync {
    /// A step begins.
    fn begins(&self, _step: Step) {}

    /// What the machine gives; asked once, before files are read.
    fn grant(&self) -> Grant {
        Grant::default()
    }

    /// What the work will take is known, and allowed.
    fn expects(&self, _demand: &Demand) {}

    /// Whether the work is no longer wanted; asked before each step.
    fn is_cancelled(&self) -> bool {
        false
    }
}

/// Nobody watches.
#[derive(Debug, Clone, Copy, Default)]
pub struct Unwatched;

impl Watch for Unwatched {}
