//! `report.txt`: 80 columns; what to do first, then why.

mod zone;

pub use zone::zone_text;

use super::delivery::OutputFile;
use super::error::DeliverError;
use super::format_input::FormatInput;
use super::overview::Overview;
use super::review::{ActionTable, Review};
use crate::text::{Column, Page};

/// The file.
///
/// # Errors
/// None; the signature is that of every format.
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let text = report(input.overview, input.review);
    Ok(vec![OutputFile::new("report.txt", text)])
}

fn report(overview: &Overview<'_>, review: &Review) -> String {
    let mut page = Page::default();
    page.chapter(&review.field.title);
    for (word, text) in &review.field.rows {
        page.item(&format!("{word:<14}"), text);
    }
    actions(&mut page, &review.actions);
    budget(&mut page, review);
    looks(&mut page, review);
    page.chapter("Each zone and why");
    for zone in &review.zones {
        zone::push_zone(&mut page, zone);
    }
    maps(&mut page, review);
    counts(&mut page, review);
    page.chapter("Mixing and loading");
    super::mix::push_sheet(&mut page, &super::mix::Sheet::new(overview));
    list(
        &mut page,
        "Cautions",
        &review.cautions,
        "Read the label and the safety sheet of each product; local rules on setbacks and permits come first.",
    );
    list(&mut page, "Disputed", &review.disputed, "");
    remarks(&mut page, review);
    list(&mut page, "Sources", &review.sources, "");
    foot(&mut page);
    page.finish()
}

fn actions(page: &mut Page, table: &ActionTable) {
    page.chapter("What to do first");
    let mut columns = vec![
        Column::number("Zone", ""),
        Column::number("Area", table.area_unit),
        Column::text("First limit"),
    ];
    columns.extend(
        table
            .products
            .iter()
            .map(|(label, unit)| Column::number(label, unit)),
    );
    columns.push(Column::number("Cost", table.cost_unit));
    let mut rows: Vec<Vec<String>> = table
        .rows
        .iter()
        .map(|row| {
            let gate = if row.is_blocking { " *" } else { "" };
            let mut cells = vec![
                row.zone.to_string(),
                row.area.clone(),
                format!("{}{gate}", row.limit),
            ];
            cells.extend(row.rates.iter().cloned());
            cells.push(row.cost.clone());
            cells
        })
        .collect();
    let mut total = vec![
        "all".to_owned(),
        table.total_area.clone(),
        "total".to_owned(),
    ];
    total.extend(
        table
            .totals
            .iter()
            .map(|(number, unit)| format!("{number} {unit}")),
    );
    total.push(format!("{} USD", table.total_cost));
    rows.push(total);
    page.table(&columns, &rows);
    if table.rows.iter().any(|row| row.is_blocking) {
        page.paragraph("* this limit closes a product: mend it first.");
    }
    if !table.unused.is_empty() {
        page.paragraph(&format!("Put nowhere: {}.", table.unused.join(", ")));
    }
    page.blank();
    for row in &table.rows {
        let first = row
            .first
            .as_ref()
            .map(|what| format!("First: {}. ", what.trim_end_matches('.')))
            .unwrap_or_default();
        page.item(
            &format!("Zone {}  ", row.zone),
            &format!("{first}{}", row.reason),
        );
    }
    page.blank();
    page.paragraph("Outside every zone nothing is applied. Set the controller to 0 for \"out of field\" and for \"position lost\".");
}

fn budget(page: &mut Page, review: &Review) {
    if review.budget.is_empty() {
        return;
    }
    page.chapter("What the budget left out");
    review.budget.iter().for_each(|line| page.item("- ", line));
}

fn looks(page: &mut Page, review: &Review) {
    if review.looks.is_empty() {
        return;
    }
    page.chapter("Please look");
    for remark in &review.looks {
        remark.lines.iter().for_each(|line| page.item("! ", line));
        remark.help.iter().for_each(|help| page.item("  -> ", help));
    }
}

fn remarks(page: &mut Page, review: &Review) {
    if review.other_remarks.is_empty() {
        return;
    }
    page.chapter("Guesses and notes on the data");
    for remark in &review.other_remarks {
        remark
            .lines
            .iter()
            .for_each(|line| page.item(&format!("{:<7}", remark.level), line));
        remark
            .help
            .iter()
            .for_each(|help| page.item("       -> ", help));
    }
}

fn maps(page: &mut Page, review: &Review) {
    page.chapter("How good the maps are");
    for map in &review.maps {
        page.item("- ", &format!("{}: {}.", map.layer, map.verdict));
    }
    page.blank();
    let columns = [
        Column::text("Layer"),
        Column::number("n", ""),
        Column::number("Efficiency", "1 = perfect"),
        Column::number("RMSE", ""),
        Column::number("Bias", ""),
        Column::text("Unit"),
    ];
    let row = |map: &super::review::MapFacts| {
        let count = map.n.map_or_else(|| "-".to_owned(), |n| n.to_string());
        vec![
            map.layer.clone(),
            count,
            map.efficiency.clone(),
            map.rmse.clone(),
            map.mean_error.clone(),
            map.unit.clone(),
        ]
    };
    page.table(&columns, &review.maps.iter().map(row).collect::<Vec<_>>());
    page.paragraph(
        "Each observation was left out once and predicted from the others. Efficiency is 1 - MSE / MSE of the mean; 0 or less means that \
         the mean of the field is as good as the map.",
    );
}

fn counts(page: &mut Page, review: &Review) {
    page.chapter("Why this many zones");
    page.paragraph(&review.counts.why);
    if !review.counts.layers.is_empty() {
        page.paragraph(&format!("Shaped by: {}.", review.counts.layers.join("; ")));
    }
    if !review.counts.components.is_empty() {
        page.paragraph("Layers that say much the same were turned into principal components, each of which counts once:");
        for component in &review.counts.components {
            page.item("- ", component);
        }
    }
    if review.counts.rows.is_empty() {
        return;
    }
    page.blank();
    let titles = ["Zones", "Explained", "Silhouette", "Fuzziness", "Entropy"];
    let columns = titles.map(|title| Column::number(title, ""));
    page.table(
        &columns,
        &review
            .counts
            .rows
            .iter()
            .map(|row| row.to_vec())
            .collect::<Vec<_>>(),
    );
}

fn list(page: &mut Page, title: &str, lines: &[String], last: &str) {
    if lines.is_empty() && last.is_empty() {
        return;
    }
    page.chapter(title);
    for line in lines {
        page.item("- ", line);
    }
    if !last.is_empty() {
        page.item("- ", last);
    }
}

fn foot(page: &mut Page) {
    page.blank();
    page.paragraph(&format!(
        "Made by {} {}. Screening estimates from your own files, not an engineering or legal opinion. run.json names every input with its \
         SHA-256, so that the run can be done again.",
        super::run_record::PROGRAM,
        super::run_record::VERSION
    ));
}
