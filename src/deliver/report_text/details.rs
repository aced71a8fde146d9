//! `details.txt`: everything behind the report: all values, all arithmetic, the skill of the maps, the sources.

use super::zone;
use crate::deliver::mix;
use crate::deliver::overview::Overview;
use crate::deliver::review::{ALWAYS, BALANCE, HEADS, MapFacts, Review, check_strips};
use crate::deliver::since_last_time::push_details;
use crate::text::{Column, Page};
use crate::trial::ScatterSource;

/// The text.
#[must_use]
pub fn details(overview: &Overview<'_>, review: &Review) -> String {
    let mut page = Page::default();
    page.chapter(&review.field.title);
    for (word, text) in &review.field.rows {
        page.item(&format!("{word:<14}"), text);
    }
    if let Some(since) = &review.since {
        push_details(&mut page, since);
    }
    page.chapter("Each zone and why");
    for zone in &review.zones {
        zone::push_zone(&mut page, zone);
    }
    budget(&mut page, review);
    balance(&mut page, review);
    strips(&mut page, overview);
    looks(&mut page, review);
    maps(&mut page, review);
    counts(&mut page, review);
    worth(&mut page, review);
    page.chapter("Buying and filling");
    mix::push_sheet(&mut page, &mix::Sheet::new(overview));
    list(&mut page, "Cautions", &review.cautions, ALWAYS);
    list(&mut page, "What research disputes", &review.disputed, "");
    remarks(&mut page, review);
    list(&mut page, "Sources", &review.sources, "");
    foot(&mut page);
    page.finish()
}

fn budget(page: &mut Page, review: &Review) {
    if review.budget.is_empty() {
        return;
    }
    page.chapter("What the budget left out");
    review.budget.iter().for_each(|line| page.item("- ", line));
}

fn balance(page: &mut Page, review: &Review) {
    let balance = &review.balance;
    if balance.rows.is_empty() {
        return;
    }
    page.chapter(BALANCE);
    balance.lines.iter().for_each(|line| page.item("- ", line));
    page.blank();
    let columns = HEADS.map(|head| match head.strip_prefix('#') {
        Some(number) => Column::number(number, ""),
        None => Column::text(head),
    });
    page.table(&columns, &balance.rows);
}

/// What the check strips can show, zone by zone; what strips could show where the plan asks for none.
fn strips(page: &mut Page, overview: &Overview<'_>) {
    let laid = &overview.stages.strips.sets;
    let offered = overview.stages.offer.map_or(&[][..], |offer| &offer.sets);
    let (title, sets) = if laid.is_empty() {
        ("Check strips that could be laid", offered)
    } else {
        ("Check strips", laid.as_slice())
    };
    for set in sets {
        page.chapter(&format!("{title}: {}", set.treatment));
        let columns = [
            Column::number("Zone", ""),
            Column::number("Strips", ""),
            Column::number("Length", ""),
            Column::text("Can show"),
            Column::text("Pays from"),
            Column::number("Strips needed", ""),
            Column::number("May cost", ""),
        ];
        let rows: Vec<Vec<String>> = set
            .zones
            .iter()
            .map(|zone| check_strips::row(overview, zone))
            .collect();
        page.table(&columns, &rows);
        page.paragraph(match set.scatter {
            ScatterSource::Harvest => {
                "What they can show is the least gain seen in 80 of 100 seasons at the one-sided 5 % level, by how much neighbouring passes differed in \
                 the earlier harvest. More strips help more than longer ones."
            }
            ScatterSource::Plan => {
                "What they can show is the least gain seen in 80 of 100 seasons at the one-sided 5 % level (paired t), by the spread that the plan gives. \
                 More strips help more than longer ones."
            }
            ScatterSource::Guess => {
                "What they can show is the least gain seen in 80 of 100 seasons at the one-sided 5 % level (paired t). It rests on a guess of how much \
                 neighbouring passes differ, unless the plan names an earlier harvest or gives the spread. More strips help more than longer ones."
            }
        });
    }
}

fn looks(page: &mut Page, review: &Review) {
    if review.looks.is_empty() {
        return;
    }
    page.chapter("Check before you drive");
    for remark in &review.looks {
        remark.lines.iter().for_each(|line| page.item("! ", line));
        remark.help.iter().for_each(|help| page.item("  -> ", help));
    }
}

fn remarks(page: &mut Page, review: &Review) {
    if review.other_remarks.is_empty() {
        return;
    }
    page.chapter("Assumptions and notes on the data");
    for remark in &review.other_remarks {
        remark
            .lines
            .iter()
            .for_each(|line| page.item(&format!("{:<11}", remark.level), line));
        remark
            .help
            .iter()
            .for_each(|help| page.item("           -> ", help));
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
    let rows: Vec<Vec<String>> = review.maps.iter().map(MapFacts::figures).collect();
    page.table(&columns, &rows);
    page.paragraph(
        "Each observation was left out once and predicted from the others. Efficiency is 1 - MSE / MSE of the mean, behind it its 90 % interval; 0 or less means that \
         the mean of the field is as good as the map.",
    );
}

fn counts(page: &mut Page, review: &Review) {
    page.chapter("Why these zones");
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

fn worth(page: &mut Page, review: &Review) {
    let worth = &review.worth;
    if worth.rows.is_empty() {
        return;
    }
    page.chapter("What the zones are worth");
    for line in &worth.products {
        page.item("- ", &line.text());
    }
    for line in worth.lines.iter().chain(&worth.doubts) {
        page.item("- ", line);
    }
    page.blank();
    let columns = [
        Column::number("Zones", ""),
        Column::text("Saves against one rate"),
        Column::number("Alike", "1 = the same"),
    ];
    let rows: Vec<Vec<String>> = worth.rows.iter().map(|row| row.to_vec()).collect();
    page.table(&columns, &rows);
    page.paragraph(&worth.how);
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
        crate::deliver::run_record::PROGRAM,
        crate::deliver::run_record::VERSION
    ));
}
