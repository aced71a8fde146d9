//! `lowstave verdict DIR --results FILE...`: what the check strips say.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use crate::cli::interrupt::Interrupt;
use crate::cli::outcome_of;
use crate::cli::terminal::Terminal;
use crate::cli::written_results::WrittenResults;
use crate::deliver::{self, EarlierVerdict, FinishedRun, PooledTreatment, VerdictInput};
use crate::engine;
use crate::error::{Failure, Outcome};
use crate::files::Files;
use crate::plan::{self, Purpose, ResultKind, ResultSettings};
use crate::remark::Remark;
use crate::trial::TrialError;

/// Arguments of `verdict`.
#[derive(Debug, Args)]
pub struct VerdictArguments {
    /// Output folder of the `plan` run whose strips were planted; several folders with their verdicts are pooled
    #[arg(value_name = "DIR", num_args = 1.., required = true)]
    pub folders: Vec<PathBuf>,
    /// The yield monitor's records: CSV, GeoJSON or shapefile
    #[arg(long, value_name = "FILE", num_args = 1..)]
    pub results: Vec<PathBuf>,
    /// Plan file whose [[results]] say what the columns are
    #[arg(long, value_name = "PLAN")]
    pub plan: Option<PathBuf>,
    /// Folder to write into; DIR, the last of several, unless said
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,
    /// Replace an earlier verdict even where its files were edited since
    #[arg(long)]
    pub force: bool,
}

/// The result for machines.
#[derive(Debug, Serialize)]
struct VerdictRecord<'a> {
    verdict: serde_json::Value,
    remarks: &'a [Remark],
}

/// The pooled result for machines.
#[derive(Debug, Serialize)]
struct PooledRecord<'a> {
    treatments: &'a [PooledTreatment],
}

pub(super) fn run(
    arguments: &VerdictArguments,
    terminal: Terminal,
    interrupt: &Interrupt,
) -> Result<Outcome, Failure> {
    let [folder] = &arguments.folders[..] else {
        return pooled(arguments, terminal, interrupt);
    };
    let run = FinishedRun::open(folder)?;
    let facts = run.facts();
    let (files, results) = results(arguments, facts.season)?;
    let mut input: VerdictInput = engine::verdict(&facts, &files, &results)?;
    input.remarks.splice(0..0, run.remarks());
    let made = deliver::verdict_files(&input)?;
    let out = arguments.out.as_ref().unwrap_or(folder);
    interrupt.while_writing(|_| deliver::write_set(out, &made, "verdict.json", arguments.force))?;
    terminal.remarks(&input.remarks);
    let written = WrittenResults {
        out,
        files: &made,
        to_read: "verdict.txt",
    };
    let title = format!("{}: what the check strips say", facts.field);
    let record = VerdictRecord {
        verdict: written.json("verdict.json"),
        remarks: &input.remarks,
    };
    let lines = deliver::verdict_lines(&input);
    written.print(terminal, outcome_of(&input.remarks), (title, lines), record)
}

/// Several harvests together, from the verdicts in their folders.
fn pooled(
    arguments: &VerdictArguments,
    terminal: Terminal,
    interrupt: &Interrupt,
) -> Result<Outcome, Failure> {
    if !arguments.results.is_empty() || arguments.plan.is_some() {
        return Err(TrialError::PooledWithResults.into());
    }
    let verdicts: Vec<EarlierVerdict> = arguments
        .folders
        .iter()
        .map(|folder| EarlierVerdict::open(folder))
        .collect::<Result<_, _>>()?;
    let treatments = engine::pooled_verdict(&verdicts)?;
    let made = deliver::pooled_files(&treatments)?;
    let last = arguments.folders.last().map(PathBuf::as_path);
    let out = arguments.out.as_deref().or(last).unwrap_or(Path::new(""));
    interrupt.while_writing(|_| deliver::write_set(out, &made, "pooled.json", arguments.force))?;
    let written = WrittenResults {
        out,
        files: &made,
        to_read: "pooled.txt",
    };
    let title = format!("{} harvests together", verdicts.len());
    let record = PooledRecord {
        treatments: &treatments,
    };
    let lines = deliver::pooled_lines(&treatments);
    written.print(terminal, Outcome::Done, (title, lines), record)
}

/// The files named on the command line, and those of the plan that are of this season; each set is seen from where it was named.
fn results(
    arguments: &VerdictArguments,
    of_season: u16,
) -> Result<(Files, Vec<ResultSettings>), Failure> {
    let mut results: Vec<ResultSettings> = arguments
        .results
        .iter()
        .map(|file| ResultSettings::of_file(file, ResultKind::Yield))
        .collect();
    if let Some(plan) = &arguments.plan {
        let (settings, _) = plan::read_for(&Files::folder(""), plan, Purpose::Layout)?;
        let beside = plan.parent().unwrap_or(Path::new(""));
        let of_plan = settings
            .results
            .into_iter()
            .filter(|result| matches!(result.kind, ResultKind::Yield | ResultKind::Applied))
            .filter(|result| result.season.is_none_or(|season| season == of_season))
            .map(|result| ResultSettings {
                file: beside.join(&result.file),
                ..result
            });
        for result in of_plan {
            // What the plan says of a file that is named on the command line too is kept.
            results.retain(|known| known.file != result.file);
            results.push(result);
        }
    }
    Ok((Files::folder(""), results))
}
