//! `lowstave plan PLAN --out DIR`: the main job.

use serde::Serialize;
use serde_json::Value;

use super::arguments::PlanArguments;
use super::color::Tone;
use super::outcome_of;
use super::page::{Align, Page};
use super::progress::Progress;
use super::terminal::Terminal;
use crate::deliver::{self, DeliverOptions, ProductSummary, Summary, TaskDataForm};
use crate::engine;
use crate::error::{Failure, Outcome};
use crate::files::Files;
use crate::remark::Remark;
use crate::units::{MoneyPerArea, UnitSystem, decimal, fixed};

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
    deliver::write(&delivery, &arguments.out)?;
    drop(progress);
    let outcome = outcome_of(run.remarks());
    let out = arguments.out.display().to_string();
    terminal.remarks(run.remarks());
    let page = page(&delivery.summary, &out, run.settings().units);
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

fn page(summary: &Summary, out: &str, units: UnitSystem) -> Page {
    let mut page = Page::default();
    let (area, unit) = area(summary.area_ha, summary.area_ac, units);
    let zones = if summary.zones.len() == 1 {
        "1 zone".to_owned()
    } else {
        format!("{} zones", summary.zones.len())
    };
    page.pieces([
        (
            Tone::Strong,
            format!("{} {}, {}", summary.field, summary.season, summary.crop),
        ),
        (
            Tone::Plain,
            format!(
                ": {area} {unit} workable, {zones}, {} USD in all",
                decimal(summary.cost_usd, 0)
            ),
        ),
    ]);
    page.gap();
    push_zones(&mut page, summary, units);
    page.gap();
    for zone in &summary.zones {
        page.pieces([
            (Tone::Strong, format!("zone {}: ", zone.zone)),
            (Tone::Plain, zone.reason.clone()),
        ]);
    }
    page.gap();
    push_products(&mut page, &summary.products);
    page.line(
        Tone::Plain,
        format!(
            "{} files are in {out}; read {out}/report.txt first",
            summary.files.len()
        ),
    );
    push_counts(&mut page, summary);
    page
}

/// What has to be bought, and what is put nowhere.
fn push_products(page: &mut Page, products: &[ProductSummary]) {
    let (bought, unused): (Vec<_>, Vec<_>) =
        products.iter().partition(|product| product.total > 0.0);
    for product in bought {
        let decimals = usize::from(product.total < 1_000.0);
        page.line(
            Tone::Plain,
            format!(
                "{}: {} {} for the field",
                product.label,
                decimal(product.total, decimals),
                product.unit
            ),
        );
    }
    if !unused.is_empty() {
        let labels: Vec<&str> = unused
            .iter()
            .map(|product| product.label.as_str())
            .collect();
        page.line(
            Tone::Faint,
            format!(
                "put nowhere, for the reasons in the report: {}",
                labels.join(", ")
            ),
        );
    }
}

fn push_zones(page: &mut Page, summary: &Summary, units: UnitSystem) {
    let mut names = vec![
        "zone".to_owned(),
        area(0.0, 0.0, units).1.to_owned(),
        "first limit".to_owned(),
    ];
    // A product that is put nowhere is told in a line of its own.
    let is_used = |name: &str| {
        summary.zones.iter().any(|zone| {
            zone.rates
                .get(name)
                .and_then(Value::as_f64)
                .is_some_and(|rate| rate > 0.0)
        })
    };
    let rates: Vec<&String> = summary
        .zones
        .first()
        .map(|zone| zone.rates.keys().filter(|name| is_used(name)).collect())
        .unwrap_or_default();
    names.extend(rates.iter().map(|name| heading(name, &summary.products)));
    names.push(MoneyPerArea::unit_in(units).to_owned());
    let rows: Vec<Vec<String>> = summary
        .zones
        .iter()
        .map(|zone| {
            let mut cells = vec![
                zone.zone.to_string(),
                area(zone.area_ha, zone.area_ac, units).0,
                zone.limit_1.unwrap_or("-").to_owned(),
            ];
            cells.extend(rates.iter().map(|name| {
                zone.rates
                    .get(*name)
                    .and_then(Value::as_f64)
                    .map_or("-".to_owned(), |rate| decimal(rate, 2))
            }));
            cells.push(fixed(cost(zone.cost_usd_ac, units), 2));
            cells
        })
        .collect();
    let align = |name: &str| {
        if name == "first limit" {
            Align::Left
        } else {
            Align::Right
        }
    };
    let columns: Vec<(&str, Align)> = names
        .iter()
        .map(|name| (name.as_str(), align(name)))
        .collect();
    page.table(&columns, &rows);
}

/// A property such as `gypsum_lb_ac` as a heading: `gypsum lb/ac`.
fn heading(property: &str, products: &[ProductSummary]) -> String {
    let parts = products.iter().find_map(|product| {
        Some((
            &product.product,
            property.strip_prefix(&format!("{}_", product.product))?,
        ))
    });
    parts.map_or_else(
        || property.to_owned(),
        |(product, unit)| format!("{product} {}", unit.replace('_', "/")),
    )
}

/// A cost per acre in the system's own unit.
fn cost(dollars_per_acre: f64, units: UnitSystem) -> f64 {
    let per_acre = MoneyPerArea::from_dollars_per_hectare(1.0).number_in(UnitSystem::UnitedStates);
    MoneyPerArea::from_dollars_per_hectare(dollars_per_acre / per_acre).number_in(units)
}

fn area(hectares: f64, acres: f64, units: UnitSystem) -> (String, &'static str) {
    match units {
        UnitSystem::UnitedStates => (fixed(acres, 1), "ac"),
        UnitSystem::Metric => (fixed(hectares, 1), "ha"),
    }
}

fn push_counts(page: &mut Page, summary: &Summary) {
    let (looks, guesses, notes) = (summary.looks, summary.guesses, summary.notes);
    if looks + guesses + notes > 0 {
        let tone = if looks > 0 { Tone::Look } else { Tone::Faint };
        page.line(
            tone,
            format!("remarks: {looks} to look at, {guesses} guessed, {notes} noted"),
        );
    }
}
