//! What `plan` prints: the first sheet in short, in 80 columns.

use serde_json::Value;

use super::color::Tone;
use super::page::Page;
use crate::deliver::{ProductSummary, Summary, ZoneSummary, grouped, with_commas};
use crate::text::Column;
use crate::units::{MoneyPerArea, UnitSystem, decimal};

/// The page of a run whose files lie in `out`.
pub(super) fn page(summary: &Summary, out: &str) -> Page {
    let mut page = Page::default();
    title(&mut page, summary);
    page.gap();
    tests(&mut page, summary);
    zones(&mut page, summary);
    page.gap();
    products(&mut page, summary);
    money(&mut page, summary);
    page.gap();
    let files = format!(
        "{} files are in {out}; read {out}/report.txt first",
        summary.files.len()
    );
    page.wrapped((Tone::Plain, ""), Tone::Plain, &files);
    counts(&mut page, summary);
    page
}

fn title(page: &mut Page, summary: &Summary) {
    let (area, unit) = match summary.units {
        UnitSystem::UnitedStates => (summary.area_ac, "ac"),
        UnitSystem::Metric => (summary.area_ha, "ha"),
    };
    let zones = match summary.zones.len() {
        1 => "1 zone".to_owned(),
        count => format!("{count} zones"),
    };
    let about = format!(
        ": {} {}, {} {unit} workable, {zones}",
        summary.crop,
        summary.season,
        grouped(area, 1)
    );
    page.wrapped((Tone::Strong, &summary.field), Tone::Plain, &about);
}

fn tests(page: &mut Page, summary: &Summary) {
    if summary.test_first.is_empty() {
        return;
    }
    page.line(Tone::Strong, "test first");
    for test in &summary.test_first {
        page.wrapped((Tone::Plain, "- "), Tone::Plain, test);
    }
    page.gap();
}

fn zones(page: &mut Page, summary: &Summary) {
    let units = summary.units;
    let area_unit = match units {
        UnitSystem::UnitedStates => "ac",
        UnitSystem::Metric => "ha",
    };
    let used = used_rates(summary);
    let mut columns = vec![
        Column::number("zone", ""),
        Column::number("area", area_unit),
        Column::text("do first"),
    ];
    columns.extend(used.iter().map(|name| heading(name, &summary.products)));
    columns.push(Column::number("cost", MoneyPerArea::unit_in(units)));
    let rows: Vec<Vec<String>> = summary
        .zones
        .iter()
        .map(|zone| zone_row(zone, &used, units))
        .collect();
    page.fitted_table(&columns, &rows);
}

/// The rates that are more than nothing somewhere; a product that goes nowhere is told in a line of its own.
fn used_rates(summary: &Summary) -> Vec<&str> {
    let rate = |zone: &ZoneSummary, name: &str| zone.rates.get(name).and_then(Value::as_f64);
    let is_used = |name: &&str| {
        let mut zones = summary.zones.iter();
        zones.any(|zone| rate(zone, name).is_some_and(|rate| rate > 0.0))
    };
    let names = summary.zones.first().map(|zone| zone.rates.keys());
    let names = names.into_iter().flatten().map(String::as_str);
    names.filter(is_used).collect()
}

fn zone_row(zone: &ZoneSummary, used: &[&str], units: UnitSystem) -> Vec<String> {
    let area = match units {
        UnitSystem::UnitedStates => zone.area_ac,
        UnitSystem::Metric => zone.area_ha,
    };
    let rate = |name: &&str| {
        let rate = zone.rates.get(*name).and_then(Value::as_f64);
        rate.map_or("-".to_owned(), |rate| with_commas(&decimal(rate, 3)))
    };
    [
        zone.zone.to_string(),
        grouped(area, 1),
        zone.do_first.clone(),
    ]
    .into_iter()
    .chain(used.iter().map(rate))
    .chain([zone.cost.clone()])
    .collect()
}

/// A property such as `gypsum_lb_ac` as a heading: gypsum, and below it lb/ac.
fn heading(property: &str, products: &[ProductSummary]) -> Column {
    let parts = products.iter().find_map(|product| {
        let unit = property.strip_prefix(&format!("{}_", product.product))?;
        Some((product.product.replace('_', " "), unit.replace('_', "/")))
    });
    parts.map_or_else(
        || Column::number(property, ""),
        |(product, unit)| Column::number(&product, &unit),
    )
}

/// What has to be bought, and what goes nowhere and why.
fn products(page: &mut Page, summary: &Summary) {
    for product in summary
        .products
        .iter()
        .filter(|product| product.total > 0.0)
    {
        let total = with_commas(&decimal(product.total, 1));
        let line = format!("{}: {total} {} for the field", product.label, product.unit);
        page.wrapped((Tone::Plain, ""), Tone::Plain, &line);
    }
    for (why, labels) in summary
        .unused
        .iter()
        .filter(|(_, labels)| !labels.is_empty())
    {
        let line = format!("{why}: {}", labels.join(", "));
        page.wrapped((Tone::Faint, ""), Tone::Faint, &line);
    }
}

fn money(page: &mut Page, summary: &Summary) {
    page.wrapped((Tone::Strong, "money: "), Tone::Plain, &summary.money);
}

fn counts(page: &mut Page, summary: &Summary) {
    let (warnings, assumptions, notes) = (summary.looks, summary.guesses, summary.notes);
    if warnings + assumptions + notes > 0 {
        let tone = if warnings > 0 {
            Tone::Look
        } else {
            Tone::Faint
        };
        let line = format!(
            "remarks: {warnings} to check before you drive, {assumptions} assumptions, {notes} notes"
        );
        page.wrapped((tone, ""), tone, &line);
    }
}
