use std::path::Path;

use super::stopwatch::Stopwatch;
use super::watch::{Step, Watch};
use crate::error::{Error, Failure};
use crate::field::{self, Field};
use crate::files::Files;
use crate::intake;
use crate::plan::{self, Purpose, Settings};
use crate::remark::Remark;
use crate::rulebook::Rulebook;

/// What the files say, laid out on the field.
#[derive(Debug)]
pub struct Inputs {
    /// What the user asked for.
    pub settings: Settings,
    /// The thresholds in force.
    pub rulebook: Rulebook,
    /// The field and its observations.
    pub field: Field,
    /// Remarks of the stages so far, in their order.
    pub remarks: Vec<Remark>,
}

impl Inputs {
    /// Reads a plan and everything that it names; hands back the stopwatch for the stages that follow.
    pub(super) fn read<'w>(
        files: &Files,
        plan: &Path,
        purpose: Purpose,
        watch: &'w dyn Watch,
    ) -> Result<(Self, Stopwatch<'w>), Failure> {
        let mut time = Stopwatch::new(watch);
        let (settings, mut remarks) =
            time.time(Step::Plan, || plan::read_for(files, plan, purpose))??;
        let files = files.beside(plan);
        let rulebook = time.time(Step::Rulebook, || {
            Rulebook::load(&files, settings.rules.as_deref())
        })?;
        let survey = time.time(Step::Intake, || intake::read(&files, &settings))?;
        let (rulebook, mut survey) = both(rulebook, survey)?;
        remarks.append(&mut survey.remarks);
        let field = time.time(Step::Field, || field::lay_out(survey, &settings))??;
        remarks.extend(field.remarks.iter().cloned());
        let inputs = Self {
            settings,
            rulebook,
            field,
            remarks,
        };
        Ok((inputs, time))
    }
}

/// Both values, or the errors of both.
fn both<A, B, E: Into<Error>, F: Into<Error>>(
    a: Result<A, Vec<E>>,
    b: Result<B, Vec<F>>,
) -> Result<(A, B), Failure> {
    match (a, b) {
        (Ok(a), Ok(b)) => Ok((a, b)),
        (Err(a), Err(b)) => Err(Failure::from(a).and(Failure::from(b))),
        (Err(a), Ok(_)) => Err(a.into()),
        (Ok(_), Err(b)) => Err(b.into()),
    }
}
