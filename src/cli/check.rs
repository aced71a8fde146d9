//! `lowstave check PLAN`: reads everything, prints the layers, what is wrong and what was guessed.

use serde::Serialize;

use super::arguments::CheckArguments;
use super::color::Tone;
use super::layer_table::{self, LayerRow};
use super::page::Page;
use super::pipeline::{Reading, Stopwatch};
use super::progress::Progress;
use super::terminal::{Terminal, push_remarks};
use super::{count_remarks, outcome_of};
use crate::error::{Failure, Outcome};
use crate::remark::Remark;
use crate::units::Area;

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
    remarks: &'a [Remark],
}

pub(super) fn run(arguments: &CheckArguments, terminal: Terminal) -> Result<Outcome, Failure> {
    let progress = Progress::new(terminal.shows_progress());
    let reading = Reading::for_rates(&arguments.plan, &mut Stopwatch::new(&progress))?;
    drop(progress);
    let rows = layer_table::rows(&reading.field, reading.settings.units);
    let outcome = outcome_of(&reading.remarks);
    terminal.result(&page(&reading, &rows), &record(&reading, &rows, outcome))?;
    Ok(outcome)
}

fn record<'a>(reading: &'a Reading, rows: &'a [LayerRow], outcome: Outcome) -> CheckRecord<'a> {
    const SQUARE_METRES_PER_HECTARE: f64 = 10_000.0;
    CheckRecord {
        outcome,
        exit_code: outcome.code(),
        field: &reading.settings.field,
        season: reading.settings.season,
        crop: &reading.settings.crop,
        area_ha: reading.field.area_m2 / SQUARE_METRES_PER_HECTARE,
        workable_ha: reading.field.workable_m2 / SQUARE_METRES_PER_HECTARE,
        cells: reading.field.grid.cells.len(),
        layers: rows,
        remarks: &reading.remarks,
    }
}

fn page(reading: &Reading, rows: &[LayerRow]) -> Page {
    let settings = &reading.settings;
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
                area(reading.field.area_m2),
                area(reading.field.workable_m2),
                reading.field.grid.cells.len(),
                settings.cell
            ),
        ),
    ]);
    page.gap();
    layer_table::push_table(&mut page, rows);
    if !reading.remarks.is_empty() {
        page.gap();
        push_remarks(&mut page, &reading.remarks);
        page.gap();
        page.append(count_remarks(&reading.remarks));
    }
    page
}
