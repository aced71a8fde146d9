//! `lowstave plan PLAN --out DIR`: the main job.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use crate::cli::interrupt::Interrupt;
use crate::cli::outcome_of;
use crate::cli::plan_page::page;
use crate::cli::progress::Progress;
use crate::cli::terminal::Terminal;
use crate::deliver::{self, DeliverOptions, Summary, TaskDataForm, WriteOptions};
use crate::engine::{self, Grant, Run};
use crate::error::{Failure, Outcome};
use crate::files::Files;
use crate::past::PastError;
use crate::remark::Remark;

/// Arguments of `plan`.
#[derive(Debug, Args)]
pub struct PlanArguments {
    /// The plan file
    #[arg(value_name = "PLAN")]
    pub plan: PathBuf,
    /// Folder for the results; an earlier result there is replaced, anything else is not
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Replace an earlier result even where its files were edited since
    #[arg(long)]
    pub force: bool,
    /// Write the controller's task data as a grid of rates instead of zone polygons
    #[arg(long)]
    pub grid: bool,
}

/// The zones of an earlier run, and the most of it that is read.
const EARLIER: &str = "prescription.geojson";
const LARGEST_EARLIER: u64 = 200_000_000;

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
    refuse_past(arguments, &run)?;
    let options = DeliverOptions {
        task_data: if arguments.grid {
            TaskDataForm::Grid
        } else {
            TaskDataForm::Polygons
        },
        ..DeliverOptions::default()
    };
    let delivery = run.deliver_watched(&options, &progress)?;
    let moved = moved_since(&arguments.out, &run);
    progress.doing("writing the files");
    interrupt.while_writing(|is_stopped| {
        let options = WriteOptions {
            overwrite_edited: arguments.force,
            is_stopped,
        };
        deliver::write_with(&delivery, &arguments.out, options)
    })?;
    drop(progress);
    // What lies in the output folder must not change a byte of the files: this is said here alone.
    let remarks = [&moved, run.remarks()].concat();
    let outcome = outcome_of(&remarks);
    let out = arguments.out.display().to_string();
    terminal.remarks(&remarks);
    let page = page(&delivery.summary, &out);
    let record = PlanRecord {
        outcome,
        exit_code: outcome.code(),
        out,
        summary: &delivery.summary,
        remarks: &remarks,
    };
    terminal.result(&page, &record)?;
    // The program ends here: the system takes the memory back at once, piece by piece it would take milliseconds.
    std::mem::forget((run, delivery));
    Ok(outcome)
}

/// Refuses to write over a folder that the plan names as an earlier season.
fn refuse_past(arguments: &PlanArguments, run: &Run) -> Result<(), PastError> {
    let Ok(out) = arguments.out.canonicalize() else {
        // What is not there yet holds no season.
        return Ok(());
    };
    let beside = arguments.plan.parent().unwrap_or(Path::new(""));
    for named in &run.settings().past {
        let folder = beside.join(&named.folder).canonicalize();
        if folder.is_ok_and(|folder| folder == out) {
            return Err(PastError::OutIsPast {
                place: named.place.clone(),
                folder: named.folder.display().to_string(),
            });
        }
    }
    Ok(())
}

/// Overrides whose zone number means other ground than in the run that is about to be written over.
fn moved_since(out: &Path, run: &Run) -> Vec<Remark> {
    let has_number = run
        .settings()
        .overrides
        .iter()
        .any(|said| said.at.is_none());
    if !has_number {
        return Vec::new();
    }
    let earlier = Files::folder(out).read(Path::new(EARLIER), LARGEST_EARLIER);
    earlier.map_or_else(|_| Vec::new(), |bytes| engine::moved_zones(&bytes, run))
}
