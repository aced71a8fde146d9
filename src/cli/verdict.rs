//! `lowstave verdict DIR --results FILE...`: what the check strips say.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use super::color::Tone;
use super::interrupt::Interrupt;
use super::outcome_of;
use super::page::Page;
use super::terminal::Terminal;
use crate::deliver::{self, EarlierVerdict, FinishedRun, PooledTreatment, VerdictInput};
use crate::engine;
use crate::error::{Failure, Outcome};
use crate::files::Files;
use crate::plan::{self, Purpose, ResultKind, ResultSettings};
use crate::provenance::Place;
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
    outcome: Outcome,
    exit_code: u8,
    files: Vec<String>,
    verdict: serde_json::Value,
    remarks: &'a [Remark],
}

/// The pooled result for machines.
#[derive(Debug, Serialize)]
struct PooledRecord<'a> {
    outcome: Outcome,
    exit_code: u8,
    files: Vec<String>,
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
    let paths: Vec<PathBuf> = made.iter().map(|file| out.join(&file.path)).collect();
    interrupt.while_writing(|_| deliver::write_set(out, &made, "verdict.json", arguments.force))?;
    let mut page = Page::default();
    page.line(
        Tone::Strong,
        format!("{}: what the check strips say", facts.field),
    );
    for line in deliver::verdict_lines(&input) {
        page.line(Tone::Plain, line);
    }
    page.line(
        Tone::Plain,
        format!("read {}", out.join("verdict.txt").display()),
    );
    let outcome = outcome_of(&input.remarks);
    terminal.remarks(&input.remarks);
    let json = made.iter().find(|file| file.path == "verdict.json");
    let record = VerdictRecord {
        outcome,
        exit_code: outcome.code(),
        files: paths
            .iter()
            .map(|path| path.display().to_string())
            .collect(),
        verdict: json
            .and_then(|file| serde_json::from_slice(&file.bytes).ok())
            .unwrap_or_default(),
        remarks: &input.remarks,
    };
    terminal.result(&page, &record)?;
    Ok(outcome)
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
    let mut page = Page::default();
    page.line(
        Tone::Strong,
        format!("{} harvests together", verdicts.len()),
    );
    for line in deliver::pooled_lines(&treatments) {
        page.line(Tone::Plain, line);
    }
    page.line(
        Tone::Plain,
        format!("read {}", out.join("pooled.txt").display()),
    );
    let record = PooledRecord {
        outcome: Outcome::Done,
        exit_code: Outcome::Done.code(),
        files: made
            .iter()
            .map(|file| out.join(&file.path).display().to_string())
            .collect(),
        treatments: &treatments,
    };
    terminal.result(&page, &record)?;
    Ok(Outcome::Done)
}

/// The files named on the command line, and those of the plan that are of this season; each set is seen from where it was named.
fn results(
    arguments: &VerdictArguments,
    of_season: u16,
) -> Result<(Files, Vec<ResultSettings>), Failure> {
    let mut results: Vec<ResultSettings> = arguments
        .results
        .iter()
        .map(|file| ResultSettings {
            file: file.clone(),
            kind: ResultKind::Yield,
            product: None,
            season: None,
            date: None,
            crs: None,
            columns: Vec::new(),
            season_columns: Vec::new(),
            place: Place::file(file.display().to_string()),
        })
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
