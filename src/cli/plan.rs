//! `lowstave plan PLAN --out DIR`: the main job.

use super::arguments::PlanArguments;
use super::pipeline::{Run, Stopwatch};
use super::progress::Progress;
use super::terminal::Terminal;
use crate::error::{Error, Failure, Outcome};

pub(super) fn run(arguments: &PlanArguments, terminal: Terminal) -> Result<Outcome, Failure> {
    let progress = Progress::new(terminal.shows_progress());
    let run = Run::of(&arguments.plan, Stopwatch::new(&progress))?;
    let _case = run.case();
    Err(Error::Unbuilt("deliver").into())
}
