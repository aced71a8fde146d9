//! `lowstave farm FARM --out DIR` and `lowstave farm join DIR`: every field of a farm.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand, ValueEnum};
use serde::Serialize;

use crate::cli::farm_page::{page, part_page};
use crate::cli::farm_progress::FarmProgress;
use crate::cli::interrupt::Interrupt;
use crate::cli::terminal::Terminal;
use crate::engine::Grant;
use crate::error::{Failure, Outcome};
use crate::farm::{
    self, FARM_FILE, Farm, FarmError, FarmOptions, FarmResult, FieldFiles, FieldRow, JoinOptions,
    MoneyShare, Part, Problem, Worked,
};
use crate::files::Files;

/// Arguments of `farm`.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub struct FarmArguments {
    /// Join parts that were worked on apart
    #[command(subcommand)]
    pub join: Option<FarmCommand>,
    /// The farm file, or a folder with plans
    #[arg(value_name = "FARM", required = true)]
    pub farm: Option<PathBuf>,
    /// Folder for the results
    #[arg(long, value_name = "DIR", required = true)]
    pub out: Option<PathBuf>,
    /// Which files each field has of its own; the farm's tables hold zones and rates in any case
    #[arg(long, value_name = "WHICH", value_enum, default_value_t)]
    pub files: WhichFiles,
    /// Keep the result of each field whose files and farm tables have not changed
    #[arg(long)]
    pub resume: bool,
    /// Work on a share of the fields, such as 2/4; "auto" takes it from a Slurm array or an indexed Kubernetes job
    #[arg(long, value_name = "I/N")]
    pub part: Option<String>,
    /// Replace an earlier result even where its files were edited since
    #[arg(long)]
    pub force: bool,
}

/// What else `farm` does.
#[derive(Debug, Subcommand)]
pub enum FarmCommand {
    /// Make the farm's files from its parts; says which parts are missing
    #[command(after_help = "Example:\n  lowstave farm join three-alders")]
    Join {
        /// The folder that the parts were written to with --out
        #[arg(value_name = "DIR")]
        dir: PathBuf,
        /// The farm file, where it lies elsewhere than when the parts were begun
        #[arg(long, value_name = "FARM")]
        farm: Option<PathBuf>,
        /// Replace an earlier result even where its files were edited since
        #[arg(long)]
        force: bool,
    },
}

/// Which files each field has of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum WhichFiles {
    /// None
    #[default]
    None,
    /// What a controller and its driver need
    Rates,
    /// All that `plan` writes
    All,
}

/// The result for machines.
#[derive(Debug, Serialize)]
struct FarmSummary<'a> {
    outcome: Outcome,
    exit_code: u8,
    out: String,
    farm: &'a str,
    fields: usize,
    kept: usize,
    with_result: usize,
    without_result: usize,
    area_ha: f64,
    area_ac: f64,
    zones: usize,
    cost_usd: f64,
    work_usd: f64,
    budget: Option<BudgetSummary>,
    problems: &'a [Problem],
    files: &'a [String],
}

/// How the farm's budget was shared out, for machines.
#[derive(Debug, Serialize)]
struct BudgetSummary {
    limit_usd: f64,
    wanted_usd: f64,
    fields_short: usize,
    gap_percent: f64,
}

impl BudgetSummary {
    fn new(money: &MoneyShare) -> Self {
        Self {
            limit_usd: money.limit as f64 / 100.0,
            wanted_usd: money.wanted as f64 / 100.0,
            fields_short: money.short,
            gap_percent: (1.0 - money.of_best()) * 100.0,
        }
    }
}

/// The result of a part, for machines.
#[derive(Debug, Serialize)]
struct PartSummary<'a> {
    outcome: Outcome,
    exit_code: u8,
    out: String,
    farm: &'a str,
    part: u32,
    of: u32,
    fields: usize,
    kept: usize,
    refused: usize,
    failed: usize,
}

pub(super) fn run(
    arguments: &FarmArguments,
    terminal: Terminal,
    interrupt: &Interrupt,
    grant: impl Fn(Option<&Path>) -> Grant,
) -> Result<Outcome, Failure> {
    if let Some(FarmCommand::Join { dir, farm, force }) = &arguments.join {
        return join(dir, farm.as_deref(), *force, terminal, interrupt, grant);
    }
    // Clap has made sure of both.
    let (Some(path), Some(out)) = (&arguments.farm, &arguments.out) else {
        return Ok(Outcome::Refused);
    };
    let farm = open(path)?;
    terminal.remarks(&farm.remarks);
    let part = part_of(arguments.part.as_deref(), out)?;
    let options = FarmOptions {
        farm: whole_path(path),
        files: arguments.files.into(),
        resume: arguments.resume,
        part,
        threads: rayon::current_num_threads(),
        overwrite_edited: arguments.force,
    };
    let worked = interrupt.while_writing(|is_stopped| {
        let progress = FarmProgress::new(terminal, grant(Some(out)), is_stopped);
        farm::work(&farm, out, &options, &progress)
    })?;
    if let Some(part) = part {
        return part_result(&farm, out, part, worked, terminal);
    }
    let result = interrupt.while_writing(|is_stopped| {
        let progress = FarmProgress::new(terminal, grant(Some(out)), is_stopped);
        farm::join(&farm, out, join_options(arguments.force), &progress)
    })?;
    told(&farm, out, &result, worked.kept, terminal)
}

fn join(
    dir: &Path,
    farm: Option<&Path>,
    force: bool,
    terminal: Terminal,
    interrupt: &Interrupt,
    grant: impl Fn(Option<&Path>) -> Grant,
) -> Result<Outcome, Failure> {
    let begun = farm::begun(dir)?;
    let path = farm.map(Path::to_owned);
    let path = path.or_else(|| begun.map(|begun| PathBuf::from(begun.farm)));
    let Some(path) = path else {
        return Err(FarmError::OtherRun {
            folder: dir.to_owned(),
            what: "holds no parts of a farm".to_owned(),
            help: "name the folder that was given to \"lowstave farm\" with --out",
        }
        .into());
    };
    let farm = open(&path)?;
    let result = interrupt.while_writing(|is_stopped| {
        let progress = FarmProgress::new(terminal, grant(Some(dir)), is_stopped);
        farm::join(&farm, dir, join_options(force), &progress)
    })?;
    told(&farm, dir, &result, farm.fields.len(), terminal)
}

fn join_options(overwrite_edited: bool) -> JoinOptions {
    JoinOptions {
        threads: rayon::current_num_threads(),
        overwrite_edited,
    }
}

/// Opens a farm file, or a folder: its `farm.toml`, or the plans in it.
pub(in crate::cli) fn open(path: &Path) -> Result<Farm, Failure> {
    let named = whole_path(path);
    let named = Path::new(&named);
    let name_of = |path: &Path| {
        let name = path.file_name().unwrap_or(path.as_os_str());
        name.to_string_lossy().into_owned()
    };
    if path.is_dir() {
        let has_file = path.join(FARM_FILE).is_file();
        let file = has_file.then_some(Path::new(FARM_FILE));
        return Farm::open(&Files::folder(path), file, &name_of(named));
    }
    let folder = path.parent().unwrap_or(Path::new(""));
    let file = PathBuf::from(path.file_name().unwrap_or(path.as_os_str()));
    let name = named.parent().map_or_else(String::new, name_of);
    Farm::open(&Files::folder(folder), Some(&file), &name)
}

/// The path as it is known from anywhere on this machine.
fn whole_path(path: &Path) -> String {
    let whole = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    whole.to_string_lossy().into_owned()
}

fn part_of(text: Option<&str>, out: &Path) -> Result<Option<Part>, FarmError> {
    let Some(text) = text else {
        return Ok(None);
    };
    let begun = farm::begun(out)?.and_then(|begun| begun.parts);
    let variable = |name: &str| env::var(name).ok();
    Part::parse(text, variable, begun).map(Some)
}

fn part_result(
    farm: &Farm,
    out: &Path,
    part: Part,
    worked: Worked,
    terminal: Terminal,
) -> Result<Outcome, Failure> {
    let out = out.display().to_string();
    // A batch engine tries a part again that failed by the machine; one with bad input does not get better by that.
    let outcome = match worked.failed {
        0 => Outcome::Done,
        _ => Outcome::Failed,
    };
    let summary = PartSummary {
        outcome,
        exit_code: outcome.code(),
        out: out.clone(),
        farm: &farm.facts.farm,
        part: part.number,
        of: part.of,
        fields: worked.fields,
        kept: worked.kept,
        refused: worked.refused,
        failed: worked.failed,
    };
    let page = part_page(&farm.facts.farm, part, worked, &out);
    terminal.result(&page, &summary)?;
    Ok(outcome)
}

fn told(
    farm: &Farm,
    out: &Path,
    result: &FarmResult,
    kept: usize,
    terminal: Terminal,
) -> Result<Outcome, Failure> {
    terminal.remarks(&result.remarks);
    let outcome = result.outcome();
    let rows: Vec<&FieldRow> = result.records.iter().map(|record| &record.row).collect();
    let sum = |of: fn(&FieldRow) -> f64| rows.iter().map(|row| of(row)).sum::<f64>();
    let out = out.display().to_string();
    let summary = FarmSummary {
        outcome,
        exit_code: outcome.code(),
        out: out.clone(),
        farm: &farm.facts.farm,
        fields: farm.fields.len(),
        kept,
        with_result: result.records.len(),
        without_result: result.without_result(),
        area_ha: sum(|row| row.area_ha),
        area_ac: sum(|row| row.area_ac),
        zones: rows.iter().map(|row| row.zones).sum(),
        cost_usd: sum(|row| row.cost_usd),
        work_usd: sum(|row| row.work_usd),
        budget: result.money.as_ref().map(BudgetSummary::new),
        problems: &result.problems,
        files: &result.files,
    };
    terminal.result(&page(farm, result, &out), &summary)?;
    Ok(outcome)
}

impl From<WhichFiles> for FieldFiles {
    fn from(which: WhichFiles) -> Self {
        match which {
            WhichFiles::None => Self::None,
            WhichFiles::Rates => Self::Rates,
            WhichFiles::All => Self::All,
        }
    }
}
