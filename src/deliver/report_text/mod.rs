//! `report.txt`: 80 columns, the first sheet and each zone's reasons in a few lines. `details.txt` has everything behind it.

mod details;
mod zone;

pub use zone::zone_text;

use super::error::DeliverError;
use super::format_input::FormatInput;
use super::output_file::OutputFile;
use super::review::{
    ALWAYS, FindingFacts, FirstSheet, MOST_UNPAID, RateFacts, RemarkFacts, Review, ZoneReview,
    ZoneTable,
};
use crate::deliver::numbers::grouped;
use crate::deliver::since_last_time::push_short;
use crate::rulebook::Factor;
use crate::text::{Column, Page};

/// Most limits that are named of a zone.
const MOST_LIMITS: usize = 3;
/// Most lines of the report of a field of eight zones.
const MOST_LINES: usize = 150;
/// Limits that are told however many stand before them: they forbid what others ask for.
const ALWAYS_TOLD: [Factor; 2] = [Factor::Salt, Factor::PhosphorusExcess];
/// Products in the table of zones beside which an order in words still has room.
const MOST_PRODUCTS_BESIDE_AN_ORDER: usize = 2;

/// Both texts.
///
/// # Errors
/// None; the signature is that of every format.
#[expect(clippy::unnecessary_wraps, reason = "every format has this front door")]
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    Ok(vec![
        OutputFile::new("report.txt", report(input.review)),
        OutputFile::new(
            "details.txt",
            details::details(input.overview, input.review),
        ),
    ])
}

/// The report. A sheet on the last season takes room: then each zone names fewer limits, and the sheet tells of fewer zones, until the whole
/// has no more lines than a report may have.
fn report(review: &Review) -> String {
    let Some(since) = &review.since else {
        return report_within(review, MOST_LIMITS, 0);
    };
    let zones = since.zones.len();
    let tries = (1..=MOST_LIMITS).rev().flat_map(|limits| {
        let told = (1..=zones).rev();
        told.map(move |told| (limits, told))
    });
    // Two limits and most of the zones before one limit and all of them.
    let mut tries: Vec<(usize, usize)> = tries.collect();
    tries.sort_by_key(|(limits, told)| (MOST_LIMITS - limits) * 2 + (zones - told));
    let made = tries
        .into_iter()
        .map(|(limits, told)| report_within(review, limits, told));
    let mut shortest: Option<String> = None;
    for text in made {
        if text.lines().count() <= MOST_LINES {
            return text;
        }
        let is_shorter = |known: &String| text.lines().count() < known.lines().count();
        if shortest.as_ref().is_none_or(is_shorter) {
            shortest = Some(text);
        }
    }
    shortest.unwrap_or_default()
}

fn report_within(review: &Review, limits: usize, zones_told: usize) -> String {
    let first = &review.first;
    let mut page = Page::default();
    title(&mut page, first);
    do_first(&mut page, first);
    lines(&mut page, "Test first", &first.test_lines());
    zone_table(&mut page, first);
    lines(&mut page, "Worth", &first.worth_lines());
    lines(&mut page, "Check strips", &first.checks);
    money(&mut page, review);
    before_you_drive(&mut page, first);
    if let Some(since) = &review.since {
        push_short(&mut page, since, zones_told);
    }
    page.chapter("Why");
    let mut is_any_recalled = false;
    for zone in &review.zones {
        is_any_recalled |= why(&mut page, zone, limits);
    }
    cautions(&mut page, review);
    page.blank();
    page.paragraph(&foot(is_any_recalled));
    page.finish()
}

/// Where the rest stands, and what the mark behind a limit means.
fn foot(is_any_recalled: bool) -> String {
    let mark = if is_any_recalled {
        " (*): a limit from memory; look it up before much hangs on it."
    } else {
        ""
    };
    format!(
        "details.txt has every value, all arithmetic and the sources; report.html has the maps.{mark}"
    )
}

/// The first sheet as text.
pub fn push_first_sheet(page: &mut Page, first: &FirstSheet) {
    title(page, first);
    do_first(page, first);
    lines(page, "Passes", &first.passes);
    lines(page, "Test first", &first.test_lines());
    zone_table(page, first);
    lines(page, "Readings", &first.readings);
    lines(page, "Check strips", &first.checks);
    page.chapter("Buy and pay");
    buy(page, first);
    before_you_drive(page, first);
}

fn title(page: &mut Page, first: &FirstSheet) {
    page.chapter(&format!("{}: {}", first.field, first.about.join(", ")));
    if !first.people.is_empty() {
        page.paragraph(&first.people.join(", "));
    }
}

fn do_first(page: &mut Page, first: &FirstSheet) {
    page.chapter("Do first");
    for treatment in &first.treatments {
        page.item(
            &format!("{}  ", treatment.letter),
            &format!("{} ({})", treatment.order, treatment.place),
        );
    }
}

fn lines(page: &mut Page, title: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    page.chapter(title);
    lines.iter().for_each(|line| page.item("- ", line));
}

fn zone_table(page: &mut Page, first: &FirstSheet) {
    let table = &first.table;
    page.chapter("What goes where");
    page.table(&columns(table), &rows(first));
    if !table.parts.is_empty() {
        page.paragraph(&format!("Not all yet: {}.", table.parts));
    }
    if !table.unmet.is_empty() {
        page.paragraph(&format!("Left unmet: {} (why: details.txt).", table.unmet));
    }
    if !table.disputed.is_empty() {
        page.paragraph(&format!(
            "Research disputes: {} (why: details.txt).",
            table.disputed
        ));
    }
    if !table.waiting.is_empty() {
        page.paragraph(&format!("Waits for a test: {}.", table.waiting.join(", ")));
    }
    if !table.unpaid.is_empty() {
        page.paragraph(&format!(
            "Needed, not paid for by the budget: {}.",
            table.unpaid.join(", ")
        ));
    }
    if !table.not_in_shed.is_empty() {
        page.paragraph(&format!(
            "Needed, not in the shed: {}.",
            table.not_in_shed.join(", ")
        ));
    }
    if !table.unused.is_empty() {
        page.paragraph(&format!(
            "Not recommended anywhere: {}.",
            table.unused.join(", ")
        ));
    }
    if table.has_strips {
        page.paragraph("Totals count the check strips; the rows do not.");
    }
    page.paragraph(
        "Outside every zone set the controller to 0 (\"out of field\", \"position lost\").",
    );
}

fn columns(table: &ZoneTable) -> Vec<Column> {
    let mut columns = vec![
        Column::number("Zone", ""),
        Column::number("Area", table.area_unit),
        Column::text("Do first"),
    ];
    let products = table.products.iter();
    columns.extend(products.map(|product| Column::number(&product.word, product.unit)));
    columns.push(Column::number("Cost", table.cost_unit));
    columns
}

fn rows(first: &FirstSheet) -> Vec<Vec<String>> {
    let table = &first.table;
    let mut rows: Vec<Vec<String>> = Vec::new();
    for row in &table.rows {
        let letter = first
            .treatments
            .get(row.treatment)
            .map_or("", |treatment| treatment.letter.as_str());
        // With many products the order's letter alone leaves room for the rates.
        let order = if table.products.len() > MOST_PRODUCTS_BESIDE_AN_ORDER {
            letter.to_owned()
        } else {
            format!("{letter}: {}", row.order)
        };
        let first_cells = [row.zone.to_string(), row.area.clone(), order];
        let cells = first_cells.into_iter().chain(row.rates.iter().cloned());
        rows.push(cells.chain([row.cost.clone()]).collect());
    }
    let total = [
        "all".to_owned(),
        table.total_area.clone(),
        "total".to_owned(),
    ];
    let spent = format!("{} USD", grouped(first.money.spent() as f64, 0));
    rows.push(
        total
            .into_iter()
            .chain(table.totals.iter().cloned())
            .chain([spent])
            .collect(),
    );
    rows
}

/// What to buy, and all money in one line.
fn buy(page: &mut Page, first: &FirstSheet) {
    first
        .buy
        .iter()
        .for_each(|line| page.item("- ", &line.text()));
    page.item("Money: ", &first.money.line());
}

fn money(page: &mut Page, review: &Review) {
    let first = &review.first;
    page.chapter("Buy and pay");
    buy(page, first);
    if !first.work.is_empty() {
        page.item("Other work by zone: ", &format!("{}.", first.work));
    }
    let unpaid = review.budget.iter().take(MOST_UNPAID);
    unpaid.for_each(|line| page.item("Not paid for: ", line));
    let more = review.budget.len().saturating_sub(MOST_UNPAID);
    if more > 0 {
        page.paragraph(&format!("{more} more lines on the budget in details.txt."));
    }
}

fn before_you_drive(page: &mut Page, first: &FirstSheet) {
    if first.before_you_drive.is_empty() {
        return;
    }
    page.chapter("Before you drive");
    for remark in &first.before_you_drive {
        short_remark(page, remark);
    }
    if first.more_remarks > 0 {
        page.paragraph(&format!(
            "{} more to check in details.txt.",
            first.more_remarks
        ));
    }
}

fn short_remark(page: &mut Page, remark: &RemarkFacts) {
    page.item("! ", &remark.summary());
    remark.help.iter().for_each(|help| page.item("  -> ", help));
}

/// A zone's reasons: its first limits, a line each. Tells whether one of them rests on a source that was recalled.
fn why(page: &mut Page, zone: &ZoneReview, most_limits: usize) -> bool {
    let lead = format!("Zone {}  ", zone.zone);
    let indent = " ".repeat(lead.chars().count());
    let mut told: Vec<&FindingFacts> = Vec::new();
    for finding in &zone.limits {
        let is_new = told.iter().all(|known| known.factor != finding.factor);
        let is_wanted = told.len() < most_limits
            || ALWAYS_TOLD
                .iter()
                .any(|factor| factor.name() == finding.factor);
        if is_wanted && is_new {
            told.push(finding);
        }
    }
    let mut lines: Vec<String> = told.iter().map(|finding| finding.short_line()).collect();
    if lines.is_empty() {
        let mut rates = zone.rates.iter();
        let is_given = rates.any(|rate| rate.is_given && rate.set_because.is_none());
        lines.push(match is_given {
            true => zone.reason.clone(),
            false => "no limit found among the factors that were measured".to_owned(),
        });
    }
    lines.extend(zone.rates.iter().filter_map(set_by_the_plan));
    for (at, line) in lines.iter().enumerate() {
        page.item(if at == 0 { &lead } else { &indent }, line);
    }
    told.iter().any(|finding| finding.is_recalled())
}

/// A rate that is the consultant's, with the reason, and with what was set where a cap cut it.
fn set_by_the_plan(rate: &RateFacts) -> Option<String> {
    let product = &rate.product;
    let cut = rate.cut_from.iter();
    let mut said = cut.map(|cut| format!("{product}: the consultant set {cut}"));
    said.next().or_else(|| {
        let because = rate.set_because.as_ref()?;
        Some(format!(
            "{product} {} set by the consultant: {because}",
            rate.rate
        ))
    })
}

/// The cautions of what is applied.
fn cautions(page: &mut Page, review: &Review) {
    page.chapter("Cautions");
    for caution in review.cautions.iter().map(String::as_str).chain([ALWAYS]) {
        page.item("- ", caution);
    }
}
