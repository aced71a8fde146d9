//! `lowstave plan PLAN --out DIR`: the main job.

use serde::Serialize;

use super::arguments::PlanArguments;
use super::outcome_of;
use super::pipeline::{Run, Stopwatch};
use super::plan_page::page;
use super::progress::Progress;
use super::terminal::Terminal;
use crate::deliver::{self, DeliverOptions, Summary, TaskDataForm};
use crate::error::{Failure, Outcome};
use crate::remark::Remark;

/// The result for machines.
#[derive(Debug, Serialize)]
struct PlanRecord<'a> {
    outcome: Outcome,
    exit_code: u8,
    out: String,
    #[serde(flatten)]
    summary: &'a Summary,
    remarks: &'a [Remark],
}

pub(super) fn run(arguments: &PlanArguments, terminal: Terminal) -> Result<Outcome, Failure> {
    let progress = Progress::new(terminal.shows_progress());
    let run = Run::to_rates(&arguments.plan, Stopwatch::new(&progress))?;
    let case = run.case();
    let options = DeliverOptions {
        task_data: if arguments.grid {
            TaskDataForm::Grid
        } else {
            TaskDataForm::Polygons
        },
    };
    progress.doing("making the files");
    let delivery = deliver::prepare(&case, &options)?;
    progress.doing("writing the files");
    deliver::write(&delivery, &arguments.out)?;
    drop(progress);
    let outcome = outcome_of(case.remarks);
    let out = arguments.out.display().to_string();
    terminal.remarks(case.remarks);
    let page = page(&delivery.summary, &out);
    let record = PlanRecord {
        outcome,
        exit_code: outcome.code(),
        out,
        summary: &delivery.summary,
        remarks: case.remarks,
    };
    terminal.result(&page, &record)?;
    Ok(outcome)
}
