//! The sum of the stages' errors, and what each means for the exit code.

use std::fmt;
use std::io;
use std::path::PathBuf;

use serde::Serialize;
use thiserror::Error;

use crate::deliver::DeliverError;
use crate::diagnosis::DiagnosisError;
use crate::farm::FarmError;
use crate::field::FieldError;
use crate::intake::IntakeError;
use crate::past::PastError;
use crate::plan::PlanError;
use crate::provenance::Place;
use crate::rates::RatesError;
use crate::rulebook::RulebookError;
use crate::sampling::SamplingError;
use crate::season::SeasonError;
use crate::surface::SurfaceError;
use crate::trial::TrialError;
use crate::zones::ZoneError;

/// How a command ended. The number is the exit code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Outcome {
    /// Done.
    Done = 0,
    /// Done, but a remark of level "look" wants the user's eye.
    Look = 1,
    /// The input cannot be used; nothing was written.
    Refused = 2,
    /// The program or the disk failed; nothing was left half-written.
    Failed = 3,
}

impl Outcome {
    /// The exit code.
    #[must_use]
    pub fn code(self) -> u8 {
        self as u8
    }
}

/// Any error of any stage, or of the command line itself.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum Error {
    /// The plan file.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// The data files.
    #[error(transparent)]
    Intake(#[from] IntakeError),
    /// The rulebook file.
    #[error(transparent)]
    Rulebook(#[from] RulebookError),
    /// The surfaces.
    #[error(transparent)]
    Surface(#[from] SurfaceError),
    /// The field's plane and grid.
    #[error(transparent)]
    Field(#[from] FieldError),
    /// The sites for cores.
    #[error(transparent)]
    Sampling(#[from] SamplingError),
    /// The zones.
    #[error(transparent)]
    Zones(#[from] ZoneError),
    /// What limits the zones.
    #[error(transparent)]
    Diagnosis(#[from] DiagnosisError),
    /// The rates.
    #[error(transparent)]
    Rates(#[from] RatesError),
    /// The check strips.
    #[error(transparent)]
    Trial(#[from] TrialError),
    /// Earlier seasons.
    #[error(transparent)]
    Past(#[from] PastError),
    /// The readings of the season.
    #[error(transparent)]
    Season(#[from] SeasonError),
    /// The files that are written.
    #[error(transparent)]
    Deliver(#[from] DeliverError),
    /// A farm as a whole.
    #[error(transparent)]
    Farm(#[from] FarmError),
    /// `start` would overwrite a plan.
    #[error("\"{}\" exists already. Nothing was changed; give another folder, or overwrite it with --force", path.display())]
    PlanExists {
        /// The plan file.
        path: PathBuf,
    },
    /// There is no manual page of that name.
    #[error("there is no command \"{name}\"; the commands are: {names}")]
    NoSuchCommand {
        /// What was asked for.
        name: String,
        /// The commands.
        names: String,
    },
    /// The result cannot be printed.
    #[error("the result cannot be printed ({0})")]
    Print(#[source] io::Error),
    /// Reading a file would take more memory than the limit.
    #[error(
        "{file}: reading it takes about {needed} of memory, more than the limit of {limit} ({whence}); leave out what is not needed, or allow more with memory under [limits] or with --memory"
    )]
    FileTakesTooMuch {
        /// The file.
        file: String,
        /// What it takes.
        needed: String,
        /// What it may.
        limit: String,
        /// Who says so.
        whence: &'static str,
    },
    /// The work would take more than the limit.
    #[error(
        "{place}: maps of {cells} cells and {layers} layers take about {needed} of {what}, more than the limit of {limit} ({whence}); {fitting}list columns that decide nothing in ignore, or allow more with {what} under [limits]"
    )]
    TooMuchWork {
        /// The plan file, at `grid.cell`.
        place: Place,
        /// How many cells.
        cells: String,
        /// How many layers.
        layers: usize,
        /// Memory, disk or time.
        what: &'static str,
        /// What it takes.
        needed: String,
        /// What it may.
        limit: String,
        /// Who says so.
        whence: &'static str,
        /// Advice of a cell that would do; empty where none would.
        fitting: String,
    },
    /// The disk has no room for the files of the run.
    #[error(
        "{place}: the files of {cells} cells and {layers} layers take about {needed}, and {free} are free on the disk; {fitting}make room, or write to another disk with --out"
    )]
    DiskTooFull {
        /// The plan file, at `grid.cell`.
        place: Place,
        /// How many cells.
        cells: String,
        /// How many layers.
        layers: usize,
        /// What the files take.
        needed: String,
        /// What is free.
        free: String,
        /// Advice of a cell that would do; empty where none would.
        fitting: String,
    },
    /// The desk is given neither a plan nor a folder.
    #[error("\"{}\" is neither a plan file nor a folder; give the path of one", path.display())]
    NoHome {
        /// What was given.
        path: PathBuf,
    },
    /// The page cannot be served.
    #[error("the page cannot be served on this machine ({0}); another --port may do")]
    Serve(#[source] io::Error),
    /// Whoever watched the run no longer wanted it.
    #[error("the work was stopped before it was done. Nothing was written")]
    Cancelled,
    /// The program met a fault of its own.
    #[error(
        "lowstave met a fault of its own (see above). Nothing was left half-written; please report it with the plan file"
    )]
    Defect,
    /// The threads cannot be had.
    #[error("{count} threads cannot be started ({cause}); choose fewer with --threads")]
    Threads {
        /// How many were asked for.
        count: usize,
        /// What the thread pool said.
        cause: String,
    },
}

impl Error {
    /// What it means for the exit code.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        match self {
            Self::Deliver(error) if error.is_input_fault() => Outcome::Refused,
            Self::Farm(error) if error.is_input_fault() => Outcome::Refused,
            Self::Zones(
                ZoneError::Shape { .. } | ZoneError::NotNoded | ZoneError::NotTiled { .. },
            )
            | Self::Diagnosis(
                DiagnosisError::OtherGrid { .. }
                | DiagnosisError::NoSuchZone { .. }
                | DiagnosisError::OtherMap { .. },
            )
            | Self::Rates(RatesError::OtherZones { .. })
            | Self::Deliver(_)
            | Self::Farm(_)
            | Self::Print(_)
            | Self::DiskTooFull { .. }
            | Self::Cancelled
            | Self::Serve(_)
            | Self::Defect
            | Self::Threads { .. } => Outcome::Failed,
            Self::Plan(_)
            | Self::PlanExists { .. }
            | Self::NoHome { .. }
            | Self::FileTakesTooMuch { .. }
            | Self::TooMuchWork { .. }
            | Self::Rulebook(_)
            | Self::Intake(_)
            | Self::Field(_)
            | Self::Surface(_)
            | Self::NoSuchCommand { .. }
            | Self::Sampling(_)
            | Self::Zones(_)
            | Self::Diagnosis(_)
            | Self::Rates(_)
            | Self::Trial(_)
            | Self::Past(_)
            | Self::Season(_) => Outcome::Refused,
        }
    }

    /// The whole story: the error and those of its causes that it does not tell itself.
    #[must_use]
    pub fn story(&self) -> String {
        let mut story = self.to_string();
        let mut cause = std::error::Error::source(self);
        while let Some(found) = cause {
            let text = found.to_string();
            if !story.contains(&text) {
                story.push_str(&format!(" ({text})"));
            }
            cause = found.source();
        }
        story
    }

    /// Where in the input it stands, where that is known.
    #[must_use]
    pub fn place(&self) -> Option<&Place> {
        match self {
            Self::Plan(error) => Some(error.place()),
            Self::Intake(error) => Some(error.place()),
            Self::Past(error) => Some(error.place()),
            Self::Season(error) => error.place(),
            Self::Farm(error) => error.place(),
            Self::TooMuchWork { place, .. } | Self::DiskTooFull { place, .. } => Some(place),
            _ => None,
        }
    }

    /// The stage that found it.
    #[must_use]
    pub fn stage(&self) -> &'static str {
        match self {
            Self::Plan(_) => "plan",
            Self::Rulebook(_) => "rulebook",
            Self::Field(_) => "field",
            Self::Surface(_) => "surface",
            Self::Sampling(_) => "sampling",
            Self::Intake(_) => "intake",
            Self::Zones(_) => "zones",
            Self::Diagnosis(_) => "diagnosis",
            Self::Rates(_) => "rates",
            Self::Trial(_) => "trial",
            Self::Past(_) => "past",
            Self::Season(_) => "season",
            Self::Deliver(_) => "deliver",
            Self::Farm(_) => "farm",
            Self::PlanExists { .. }
            | Self::FileTakesTooMuch { .. }
            | Self::TooMuchWork { .. }
            | Self::DiskTooFull { .. }
            | Self::NoSuchCommand { .. }
            | Self::Print(_)
            | Self::Cancelled
            | Self::NoHome { .. }
            | Self::Serve(_)
            | Self::Defect
            | Self::Threads { .. } => "command",
        }
    }
}

/// Why a command could not be done: all the errors of the stage that stopped it.
#[derive(Debug)]
pub struct Failure {
    errors: Vec<Error>,
}

impl Failure {
    /// The errors, in the order in which they should be read.
    #[must_use]
    pub fn errors(&self) -> &[Error] {
        &self.errors
    }

    /// The gravest outcome of all errors.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        self.errors
            .iter()
            .map(Error::outcome)
            .max()
            .unwrap_or(Outcome::Failed)
    }

    /// The files that were named and not found, each as the plan names it: what a caller can fetch and hand in.
    #[must_use]
    pub fn missing_files(&self) -> Vec<&str> {
        self.errors
            .iter()
            .filter_map(|error| match error {
                Error::Plan(error) => error.missing_file(),
                _ => None,
            })
            .collect()
    }

    /// Adds the errors of another failure.
    #[must_use]
    pub fn and(mut self, other: Self) -> Self {
        self.errors.extend(other.errors);
        self
    }
}

impl<E: Into<Error>> From<Vec<E>> for Failure {
    fn from(errors: Vec<E>) -> Self {
        Self {
            errors: errors.into_iter().map(Into::into).collect(),
        }
    }
}

impl<E: Into<Error>> From<E> for Failure {
    fn from(error: E) -> Self {
        Self {
            errors: vec![error.into()],
        }
    }
}

impl fmt::Display for Failure {
    /// One error a line.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, error) in self.errors.iter().enumerate() {
            if at > 0 {
                f.write_str("\n")?;
            }
            write!(f, "{error}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Failure {}
