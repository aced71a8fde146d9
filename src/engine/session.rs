use std::path::Path;

use super::guarded;
use super::inputs::Inputs;
use super::kept::Kept;
use super::run::Run;
use super::stopwatch::Stopwatch;
use super::terms::{Allotment, Terms};
use super::watch::Watch;
use crate::error::Failure;
use crate::files::Files;
use crate::plan::{Inherited, Purpose};

/// Runs that follow one another, of one plan that is being changed: a stage whose settings and files did not change is not done again.
/// Each run is the same as one that stands alone; only `timings` tells them apart.
///
/// # Example
/// ```
/// use lowstave::Files;
/// use lowstave::engine::{Session, Unwatched};
///
/// let files = Files::folder("samples/open-field");
/// let mut session = Session::default();
/// let first = session.run(&files, "plan.toml", &Unwatched)?;
/// let again = session.run(&files, "plan.toml", &Unwatched)?;
/// assert_eq!(first.zones().zones.len(), again.zones().zones.len());
/// # Ok::<(), lowstave::Failure>(())
/// ```
#[derive(Debug)]
pub struct Session {
    kept: Kept,
    inherited: Option<Inherited>,
    allotment: Option<Allotment>,
}

impl Default for Session {
    fn default() -> Self {
        Self {
            kept: Kept::some(),
            inherited: None,
            allotment: None,
        }
    }
}

impl Session {
    /// Runs of a field of a farm: with what the farm says for all its fields, and with the field's share of what the farm has once.
    #[must_use]
    pub fn of_farm(inherited: Inherited, allotment: Option<Allotment>) -> Self {
        Self {
            inherited: Some(inherited),
            allotment,
            ..Self::default()
        }
    }

    /// Runs a plan.
    ///
    /// # Errors
    /// As [`super::run_watched`].
    pub fn run(
        &mut self,
        files: &Files,
        plan: impl AsRef<Path>,
        watch: &dyn Watch,
    ) -> Result<Run, Failure> {
        let (terms, kept) = self.terms();
        guarded(|| Run::new(files, plan.as_ref(), &terms, watch, kept))
    }

    /// Reads a plan and all that it names.
    ///
    /// # Errors
    /// As [`super::read`].
    pub fn read(
        &mut self,
        files: &Files,
        plan: impl AsRef<Path>,
        purpose: Purpose,
        watch: &dyn Watch,
    ) -> Result<Inputs, Failure> {
        let (terms, kept) = self.terms();
        guarded(|| {
            let mut time = Stopwatch::new(watch);
            Inputs::read(files, plan.as_ref(), purpose, &terms, &mut time, kept)
        })
    }

    fn terms(&mut self) -> (Terms<'_>, &mut Kept) {
        let terms = Terms {
            inherited: self.inherited.as_ref(),
            asks_offers: false,
            allotment: self.allotment.as_ref(),
        };
        (terms, &mut self.kept)
    }
}
