//! `lowstave check PLAN`: reads everything, prints the layers, what is wrong and what was guessed.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use crate::cli::color::Tone;
use crate::cli::column_table::{self, ColumnRow};
use crate::cli::farm_check;
use crate::cli::layer_table::{self, LayerRow};
use crate::cli::page::Page;
use crate::cli::progress::Progress;
use crate::cli::start_guesses;
use crate::cli::terminal::{Terminal, push_wrapped};
use crate::cli::{count_remarks, outcome_of};
use crate::engine::{self, Grant, Inputs};
use crate::error::{Failure, Outcome};
use crate::files::Files;
use crate::plan::Purpose;
use crate::remark::Remark;
use crate::units::Area;

/// Arguments of `check`.
#[derive(Debug, Args)]
pub struct CheckArguments {
    /// The plan file; or a farm file or folder, to see for each field which value comes from where
    #[arg(value_name = "PLAN")]
    pub plan: PathBuf,
}

/// Most bytes of a plan file that are looked at for marks of `start`.
const LARGEST_PLAN: u64 = 10_000_000;

/// The result for machines.
#[derive(Debug, Serialize)]
struct CheckRecord<'a> {
    outcome: Outcome,
    exit_code: u8,
    field: &'a str,
    season: u16,
    crop: &'a str,
    area_ha: f64,
    workable_ha: f64,
    cells: usize,
    layers: &'a [LayerRow],
    columns: &'a [ColumnRow],
    not_used: Vec<&'a Remark>,
    remarks: &'a [Remark],
}

pub(super) fn run(
    arguments: &CheckArguments,
    terminal: Terminal,
    grant: impl Fn(Option<&Path>) -> Grant,
) -> Result<Outcome, Failure> {
    if farm_check::is_farm(&arguments.plan) {
        return farm_check::run(&arguments.plan, terminal, grant(None));
    }
    let progress = Progress::new(terminal, grant(None));
    let files = Files::folder("");
    let mut inputs = engine::read(&files, &arguments.plan, Purpose::Rates, &progress)?;
    drop(progress);
    let rows = layer_table::rows(&inputs.field, inputs.settings.units);
    // It was read a moment ago; were it gone now, nothing counts as guessed by `start`.
    let plan = files
        .read(&arguments.plan, LARGEST_PLAN)
        .unwrap_or_default();
    let plan = String::from_utf8_lossy(&plan);
    let guessed = column_table::still_guessed(&plan);
    let guesses = start_guesses::remarks(&plan, &inputs.settings);
    inputs.remarks.extend(guesses);
    let columns = column_table::rows(&inputs.field, &inputs.settings, &guessed);
    let outcome = outcome_of(&inputs.remarks);
    terminal.result(
        &page(&inputs, &columns),
        &record(&inputs, &rows, &columns, outcome),
    )?;
    Ok(outcome)
}

fn record<'a>(
    inputs: &'a Inputs,
    rows: &'a [LayerRow],
    columns: &'a [ColumnRow],
    outcome: Outcome,
) -> CheckRecord<'a> {
    const SQUARE_METRES_PER_HECTARE: f64 = 10_000.0;
    CheckRecord {
        outcome,
        exit_code: outcome.code(),
        field: &inputs.settings.field,
        season: inputs.settings.season,
        crop: &inputs.settings.crop,
        area_ha: inputs.field.area_m2 / SQUARE_METRES_PER_HECTARE,
        workable_ha: inputs.field.workable_m2 / SQUARE_METRES_PER_HECTARE,
        cells: inputs.field.grid.cells.len(),
        layers: rows,
        columns,
        not_used: inputs
            .remarks
            .iter()
            .filter(|remark| is_not_used(remark))
            .collect(),
        remarks: &inputs.remarks,
    }
}

/// What says that a column, a row or a sheet is not used.
const NOT_USED: [&str; 8] = [
    "columns-not-recognised",
    "recommendations-not-read",
    "oxide-not-read",
    "column-not-needed",
    "cone-columns-left-out",
    "first-sheet",
    "other-sheets",
    "columns-ignored",
];

fn is_not_used(remark: &Remark) -> bool {
    NOT_USED.contains(&remark.code)
}

fn page(inputs: &Inputs, columns: &[ColumnRow]) -> Page {
    let settings = &inputs.settings;
    let area = |square_metres| Area::from_square_metres(square_metres).show(settings.units, 1);
    let mut page = Page::default();
    page.pieces([
        (
            Tone::Strong,
            format!("{} {}, {}", settings.field, settings.season, settings.crop),
        ),
        (
            Tone::Plain,
            format!(
                ": {}, of which {} workable; {} cells of {}",
                area(inputs.field.area_m2),
                area(inputs.field.workable_m2),
                inputs.field.grid.cells.len(),
                settings.cell
            ),
        ),
    ]);
    page.gap();
    column_table::push_table(&mut page, columns);
    let (not_used, rest): (Vec<Remark>, Vec<Remark>) =
        inputs.remarks.iter().cloned().partition(is_not_used);
    for (title, remarks) in [("Not used", &not_used), ("Remarks", &rest)] {
        if !remarks.is_empty() {
            page.gap();
            page.line(Tone::Strong, title);
            push_wrapped(&mut page, remarks);
        }
    }
    if !inputs.remarks.is_empty() {
        page.gap();
        page.append(count_remarks(&inputs.remarks));
    }
    page
}
