//! `lowstave plan PLAN --out DIR`: the main job.

use std::path::Path;

use serde::Serialize;

use super::arguments::PlanArguments;
use super::interrupt::Interrupt;
use super::outcome_of;
use super::plan_page::page;
use super::progress::Progress;
use super::terminal::Terminal;
use crate::deliver::{self, DeliverOptions, Summary, TaskDataForm, WriteOptions};
use crate::engine::{self, Grant};
use crate::error::{Failure, Outcome};
use crate::files::Files;
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

pub(super) fn run(
    arguments: &PlanArguments,
    terminal: Terminal,
    interrupt: &Interrupt,
    grant: impl Fn(Option<&Path>) -> Grant,
) -> Result<Outcome, Failure> {
    let progress = Progress::new(terminal, grant(Some(&arguments.out)));
    let run = engine::run_watched(&Files::folder(""), &arguments.plan, &progress)?;
    let options = DeliverOptions {
        task_data: if arguments.grid {
            TaskDataForm::Grid
        } else {
            TaskDataForm::Polygons
        },
    };
    let delivery = run.deliver_watched(&options, &progress)?;
    progress.doing("writing the files");
    interrupt.while_writing(|is_stopped| {
        let options = WriteOptions {
            overwrite_edited: arguments.force,
            is_stopped,
        };
        deliver::write_with(&delivery, &arguments.out, options)
    })?;
    drop(progress);
    let outcome = outcome_of(run.remarks());
    let out = arguments.out.display().to_string();
    terminal.remarks(run.remarks());
    let page = page(&delivery.summary, &out);
    let record = PlanRecord {
        outcome,
        exit_code: outcome.code(),
        out,
        summary: &delivery.summary,
        remarks: run.remarks(),
    };
    terminal.result(&page, &record)?;
    Ok(outcome)
}
