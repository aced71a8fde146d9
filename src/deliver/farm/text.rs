//! `farm.txt`: the farm's sheet as text.

use super::bill::Bill;
use super::bill_files::push_list;
use super::input::FarmInput;
use super::sheet::{FarmSheet, FieldLine, MOST_PROBLEMS};
use crate::text::{Column, Page};

/// Said under the fields.
pub(super) const ORDER_OF_AUTHORITY: &str =
    "Labels, local rules on setbacks and permits, and licensed practice come first.";

/// Where the fields' other remarks stand.
pub(super) const MORE_REMARKS: &str =
    "in the fields' own reports, which --files rates or --files all writes";

/// The text.
pub(super) fn page(input: &FarmInput<'_>, sheet: &FarmSheet) -> String {
    let mut page = Page::default();
    page.chapter(input.farm);
    page.paragraph(&sheet.about.join(" \u{b7} "));
    if !sheet.people.is_empty() {
        page.paragraph(&sheet.people.join(" \u{b7} "));
    }
    if !sheet.before_you_drive.is_empty() {
        page.section("Before you drive");
        sheet
            .before_you_drive
            .iter()
            .for_each(|line| page.item("- ", line));
        if sheet.more_remarks > 0 {
            let more = format!("{} more {MORE_REMARKS}.", sheet.more_remarks);
            page.paragraph(&more);
        }
    }
    push_orders(&mut page, sheet);
    push_fields(&mut page, sheet);
    push_problems(&mut page, sheet);
    push_list(&mut page, input, &Bill::new(input));
    page.section("Money");
    sheet.money.iter().for_each(|line| page.item("- ", line));
    page.section("Card");
    page.paragraph(&sheet.card_line());
    page.blank();
    page.paragraph(ORDER_OF_AUTHORITY);
    page.finish()
}

fn push_orders(page: &mut Page, sheet: &FarmSheet) {
    page.section("Do first");
    for order in &sheet.orders.orders {
        let lead = format!("{}  ", order.letter);
        page.item(&lead, &order.order);
    }
}

fn push_fields(page: &mut Page, sheet: &FarmSheet) {
    page.section("Fields");
    let columns = [
        Column::text("Field"),
        Column::number("Area", sheet.total_area.1),
        Column::text("Do first"),
        Column::number("Cost", "USD"),
        Column::text(&format!(
            "On the wrong ground less, USD/{} (90 %)",
            sheet.total_area.1
        )),
    ];
    let row = |line: &FieldLine| {
        let letters: Vec<&str> = line
            .orders
            .iter()
            .map(|at| sheet.orders.letter(*at))
            .collect();
        vec![
            line.field.clone(),
            line.area.clone(),
            letters.join(" "),
            line.cost.clone(),
            line.worth.clone(),
        ]
    };
    let mut rows: Vec<Vec<String>> = sheet.lines.iter().map(row).collect();
    rows.push(vec![
        "all".to_owned(),
        sheet.total_area.0.clone(),
        String::new(),
        sheet.total_cost.clone(),
        String::new(),
    ]);
    page.table(&columns, &rows);
    let tested = sheet
        .lines
        .iter()
        .filter_map(|line| Some((line, line.test.as_ref()?)));
    let tested: Vec<_> = tested.collect();
    if !tested.is_empty() {
        page.section("Test first");
        for (line, test) in tested {
            page.item("- ", &format!("{}: {test}", line.field));
        }
    }
}

fn push_problems(page: &mut Page, sheet: &FarmSheet) {
    if sheet.problems.is_empty() {
        return;
    }
    page.section("Fields without rates");
    let named = sheet.problems.iter().take(MOST_PROBLEMS);
    named.for_each(|(id, what)| page.item("- ", &format!("{id}: {what}")));
    if let Some(more) = sheet.more_problems() {
        page.paragraph(&format!("{more}."));
    }
}
