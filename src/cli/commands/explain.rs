//! `lowstave explain DIR --zone N`: one zone's reasons, in full.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use crate::cli::color::Tone;
use crate::cli::outcome_of;
use crate::cli::page::Page;
use crate::cli::terminal::Terminal;
use crate::deliver::{self, FinishedRun, ZoneReview};
use crate::error::{Failure, Outcome};
use crate::remark::Remark;

/// Arguments of `explain`.
#[derive(Debug, Args)]
pub struct ExplainArguments {
    /// Folder of a finished run, as given to --out
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
    /// Number of the zone, as printed on the map
    #[arg(long, value_name = "NUMBER")]
    pub zone: u32,
}

/// The result for machines.
#[derive(Debug, Serialize)]
struct ExplainRecord<'a> {
    outcome: Outcome,
    exit_code: u8,
    #[serde(flatten)]
    review: &'a ZoneReview,
    /// Files of the result that are not as they were written.
    remarks: &'a [Remark],
}

pub(super) fn run(arguments: &ExplainArguments, terminal: Terminal) -> Result<Outcome, Failure> {
    let run = FinishedRun::open(&arguments.folder)?;
    let review = run.zone(arguments.zone)?;
    let remarks = run.remarks();
    let mut page = Page::default();
    for line in deliver::zone_in_words(review).lines() {
        page.line(Tone::Plain, line);
    }
    let outcome = outcome_of(&remarks);
    terminal.remarks(&remarks);
    terminal.result(
        &page,
        &ExplainRecord {
            outcome,
            exit_code: outcome.code(),
            review,
            remarks: &remarks,
        },
    )?;
    Ok(outcome)
}
