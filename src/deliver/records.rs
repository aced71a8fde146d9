//! `records.csv` and `records.txt`: every input per field and season, as an organic inspector asks for it. What only the farm can say (maker,
//! lot, invoice, the certifier's word) is left open, and nothing here says that a material may be used.
//!
//! # Source
//! 7 CFR 205.103: records that disclose all activities and transactions in sufficient detail to be readily understood and audited, kept
//! at least 5 years. The columns are our own.

use std::fmt::Write;

use super::error::DeliverError;
use super::escape::csv;
use super::format_input::FormatInput;
use super::numbers::grouped;
use super::output_file::OutputFile;
use super::overview::Overview;
use super::season;
use crate::past::{EarlierApplied, InputRecord, PastRun};
use crate::plan::{Day, ResultKind};
use crate::text::Page;
use crate::units::{Area, Metering, UnitSystem, decimal};

/// The columns of the table.
const HEAD: &str = "season,field,zone,area,area_unit,product,part_of,analysis,analysis_from,maker_and_brand,lot,supplier_and_invoice,\
rate_planned,rate_unit,total_planned,total_unit,date_planned,rate_applied,total_applied,date_applied,log,reason,soil_test,certifiers_word\n";
/// What the sheet says of what is left open.
const LEFT_OPEN: &str = "Left open for the farm: maker and brand, lot, supplier and invoice, and the certifier's word with its date. This record shows what was \
                         planned and logged; it is no permission. Ask your certifier before you buy: a list of materials is no permission either.";
/// Why something stands in the record that nobody ordered.
const NOT_ORDERED: &str = "not ordered in this zone: only the log shows it";
const KEEP: &str =
    "Keep it, with labels, analyses and invoices, for at least 5 years (7 CFR 205.103).";

/// Both files.
///
/// # Errors
/// None; the signature is that of every format.
#[expect(clippy::unnecessary_wraps, reason = "every format has this front door")]
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let rows = rows(input.overview);
    Ok(vec![
        OutputFile::new("records.csv", table(&rows, input.overview.units)),
        OutputFile::new("records.txt", page(input.overview, &rows)),
    ])
}

/// One input with what the logs say of it.
struct Row<'a> {
    season: u16,
    field: &'a str,
    input: InputRecord,
    /// Rate by the logs, kg/ha or L/ha.
    applied: Option<f64>,
    date_applied: Option<Day>,
    log: String,
    /// Whether it was ordered; what was not is known by the log alone.
    is_ordered: bool,
}

/// The inputs of the earlier seasons, then those of this one.
fn rows<'a>(overview: &'a Overview<'_>) -> Vec<Row<'a>> {
    let (stages, past) = (overview.stages, overview.stages.past);
    let mut rows = Vec::new();
    for run in &past.runs {
        for input in &run.record.inputs {
            // The log of a mix is that of the tank: its ingredients go by their share of the planned rate.
            let product = logged_as(input);
            let share = share_of_mix(input, run);
            let applied = past.applied.iter().find(|applied| {
                applied.season == run.record.season
                    && applied.zone == input.zone
                    && applied.product == product
            });
            rows.push(Row {
                season: run.record.season,
                field: &run.record.field,
                applied: applied.map(|applied| applied.applied.rate * share),
                input: input.clone(),
                ..logged(overview, run.record.season, product)
            });
        }
        rows.extend(not_ordered(overview, run));
    }
    for input in season::record(overview).inputs {
        let product = logged_as(&input).to_owned();
        let season = stages.settings.season;
        rows.push(Row {
            field: &stages.settings.field,
            input,
            ..logged(overview, season, &product)
        });
    }
    rows
}

/// What the logs show of a product in zones where none of it was ordered.
fn not_ordered<'a>(overview: &'a Overview<'_>, run: &'a PastRun) -> Vec<Row<'a>> {
    let season = run.record.season;
    let is_ordered = |applied: &EarlierApplied| {
        let mut inputs = run.record.inputs.iter();
        inputs.any(|input| input.zone == applied.zone && logged_as(input) == applied.product)
    };
    let applied = overview.stages.past.applied.iter();
    applied
        .filter(|applied| applied.season == season && applied.applied.rate > 0.0)
        .filter(|applied| !is_ordered(applied))
        .filter_map(|applied| {
            let mut zones = run.record.zones.iter();
            let zone = zones.find(|zone| zone.zone == applied.zone)?;
            let mut rates = run.record.zones.iter().flat_map(|zone| &zone.rates);
            let known = rates.find(|rate| rate.product == applied.product)?;
            Some(Row {
                field: &run.record.field,
                applied: Some(applied.applied.rate),
                is_ordered: false,
                input: InputRecord {
                    zone: zone.zone,
                    area_m2: zone.area_m2,
                    product: known.product.clone(),
                    label: known.label.clone(),
                    form: known.form,
                    reason: NOT_ORDERED.to_owned(),
                    ..InputRecord::default()
                },
                ..logged(overview, season, &applied.product)
            })
        })
        .collect()
}

/// What went out in a season where it was not ordered, product by product: "calcitic lime 812 lb".
fn outside_of_orders(rows: &[&Row<'_>], units: UnitSystem) -> Vec<String> {
    let mut sums: Vec<(&InputRecord, f64)> = Vec::new();
    for row in rows.iter().filter(|row| !row.is_ordered) {
        let total = row.applied.unwrap_or_default() * row.input.area_m2 / 10_000.0;
        match sums
            .iter_mut()
            .find(|(known, _)| known.product == row.input.product)
        {
            Some((_, sum)) => *sum += total,
            None => sums.push((&row.input, total)),
        }
    }
    let show = |(input, total): (&InputRecord, f64)| {
        let (size, unit) = input.form.amount_unit(units);
        let number = total / size;
        format!(
            "{} {} {unit}",
            input.label,
            grouped(number, usize::from(number < 10.0))
        )
    };
    sums.into_iter().map(show).collect()
}

/// The controller's product that an input goes out with.
fn logged_as(input: &InputRecord) -> &str {
    if input.part_of.is_some() {
        crate::rulebook::Rulebook::STARTER
    } else {
        &input.product
    }
}

/// What of an input is in a unit of the mix that it goes out with; 1 where it goes out alone.
fn share_of_mix(input: &InputRecord, run: &PastRun) -> f64 {
    if input.part_of.is_none() {
        return 1.0;
    }
    let zones = run.record.zones.iter();
    let mix = zones
        .filter(|zone| zone.zone == input.zone)
        .flat_map(|zone| &zone.rates)
        .find(|rate| rate.product == crate::rulebook::Rulebook::STARTER);
    match mix {
        Some(mix) if mix.ordered > 0.0 => input.rate / mix.ordered,
        _ => 0.0,
    }
}

/// The log of a product in a season, as far as the plan names one.
fn logged<'a>(overview: &'a Overview<'_>, season: u16, product: &str) -> Row<'a> {
    let settings = overview.stages.settings;
    let mut logs = settings.results.iter().filter(|result| {
        result.kind == ResultKind::Applied
            && result.product.as_deref() == Some(product)
            && result.season.unwrap_or(settings.season) == season
    });
    let log = logs.next();
    Row {
        season,
        field: "",
        input: InputRecord::default(),
        applied: None,
        date_applied: log.and_then(|log| log.date),
        log: log.map_or_else(String::new, |log| log.file.display().to_string()),
        is_ordered: true,
    }
}

fn table(rows: &[Row<'_>], units: UnitSystem) -> String {
    let mut out = HEAD.to_owned();
    for row in rows {
        let input = &row.input;
        let (rate_size, rate_unit) = input.form.rate_unit(units);
        let (total_size, total_unit) = input.form.amount_unit(units);
        let area = Area::from_square_metres(input.area_m2);
        let hectares = input.area_m2 / 10_000.0;
        let day = |day: Option<Day>| day.map(Day::iso).unwrap_or_default();
        let rate = |value: f64| decimal(value / rate_size, 3);
        let total = |value: f64| decimal(value / total_size, 2);
        let _ = writeln!(
            out,
            "{},{},{},{},{},{},{},{},{},,,,{},{rate_unit},{},{total_unit},{},{},{},{},{},{},{},",
            row.season,
            csv(row.field),
            input.zone,
            decimal(area.number_in(units), 2),
            Area::unit_in(units),
            csv(&input.label),
            csv(input.part_of.as_deref().unwrap_or_default()),
            csv(&input.analysis),
            csv(&input.analysis_source),
            rate(input.rate),
            total(input.total),
            day(input.planned),
            row.applied.map(rate).unwrap_or_default(),
            row.applied
                .map(|applied| total(applied * hectares))
                .unwrap_or_default(),
            day(row.date_applied),
            csv(&row.log),
            csv(&input.reason),
            csv(&input.soil_test),
        );
    }
    out
}

/// The sheet: season by season, product by product.
fn page(overview: &Overview<'_>, rows: &[Row<'_>]) -> String {
    let stages = overview.stages;
    let units = overview.units;
    let mut page = Page::default();
    page.chapter(&format!("Record of inputs: {}", stages.settings.field));
    let people = &stages.settings.people;
    let who = [&people.grower, &people.farm, &people.prepared_by];
    let who: Vec<&str> = who.into_iter().flatten().map(String::as_str).collect();
    if !who.is_empty() {
        page.paragraph(&who.join(", "));
    }
    page.paragraph(LEFT_OPEN);
    page.paragraph(KEEP);
    let mut seasons: Vec<u16> = rows.iter().map(|row| row.season).collect();
    seasons.dedup();
    for run in &stages.past.runs {
        if run.record.inputs.is_empty() {
            page.paragraph(&format!(
                "Season {}: the folder \"{}\" keeps no list of inputs (an earlier version wrote it); its mix.csv has the amounts.",
                run.record.season, run.folder
            ));
        }
    }
    if rows.is_empty() {
        page.paragraph("No input is planned.");
    }
    for season in seasons {
        page.chapter(&format!("Season {season}"));
        let rows: Vec<&Row<'_>> = rows.iter().filter(|row| row.season == season).collect();
        let outside = outside_of_orders(&rows, units);
        if !outside.is_empty() {
            page.paragraph(&format!(
                "Logged outside what was ordered: {}.",
                outside.join(", ")
            ));
        }
        for row in rows {
            push_row(&mut page, row, units);
        }
    }
    page.finish()
}

fn push_row(page: &mut Page, row: &Row<'_>, units: UnitSystem) {
    let input = &row.input;
    let of = input
        .part_of
        .as_ref()
        .map_or_else(String::new, |mix| format!(" (in {mix})"));
    page.section(&format!("Zone {}: {}{of}", input.zone, input.label));
    let show = |value: f64, (size, unit): (f64, &str), form: Metering| {
        let decimals = usize::from(form == Metering::Liquid || value / size < 10.0) * 2;
        format!("{} {unit}", grouped(value / size, decimals))
    };
    let rate = |value: f64| show(value, input.form.rate_unit(units), input.form);
    let total = |value: f64| show(value, input.form.amount_unit(units), input.form);
    let area = Area::from_square_metres(input.area_m2);
    let planned = if row.is_ordered {
        format!(
            "{} on {}: {}{}",
            rate(input.rate),
            area.show(units, 1),
            total(input.total),
            input
                .planned
                .map_or_else(String::new, |day| format!(", planned {}", day.show()))
        )
    } else {
        format!("not ordered on these {}", area.show(units, 1))
    };
    page.item("Planned    ", &planned);
    let applied = match (row.applied, row.date_applied) {
        (None, None) => "date ____________  rate ____________  by ____________".to_owned(),
        (None, Some(day)) => format!("{}; rate ____________", day.show()),
        (Some(applied), day) => format!(
            "{} by the log {}, {}",
            rate(applied),
            row.log,
            day.map_or_else(|| "date ____________".to_owned(), Day::show)
        ),
    };
    page.item("Applied    ", &applied);
    if !input.analysis.is_empty() {
        page.item(
            "Analysis   ",
            &format!("{} ({})", input.analysis, input.analysis_source),
        );
    }
    page.item("Why        ", &input.reason);
    if !input.soil_test.is_empty() {
        page.item("Soil test  ", &input.soil_test);
    }
    page.item(
        "Open       ",
        "maker and brand ________  lot ________  invoice ________  certifier's word and date ________",
    );
}
