//! A field's first sheet on the farm's page: the facts of its own, with a map of its own.

use maud::{Markup, html};

use super::facts::{RowFacts, SheetFacts};
use super::input::FarmField;
use super::map::field_map;
use super::orders::FarmOrders;
use crate::deliver::report_html::{plain, swatch};
use crate::deliver::review::{TestLine, WorthLine};

/// The sheet of one field.
pub(super) fn field_sheet(field: &FarmField<'_>, orders: &FarmOrders) -> Markup {
    let sheet = &field.facts.sheet;
    html! {
        section.field id={ "field-" (field.id) } {
            header.title {
                h2 { (plain(field.field)) }
                p.about { (plain(&sheet.about.join(" \u{b7} "))) }
                p.people { a href="#sheet" { "back to the farm" } }
            }
            div.top {
                figure.main { (field_map(field, orders)) }
                div.orders {
                    h3 { "Do first" }
                    ol.letters { @for at in 0..sheet.orders.len() { (order(sheet, at, orders)) } }
                    (block("Test first", &sheet.tests.iter().map(TestLine::text).collect::<Vec<_>>()))
                    (block("Check strips", &sheet.checks))
                }
            }
            (zones(field, orders))
            @if !sheet.worth.is_empty() { p.small { (plain(&worth(sheet))) "." } }
            @if !sheet.buy.is_empty() { p.amounts { b { "Takes: " } (plain(&sheet.buy.join("; "))) } }
            p.money { b { "Money: " } (plain(&sheet.money_line)) }
            (before(sheet))
        }
    }
}

fn worth(sheet: &SheetFacts) -> String {
    let lines: Vec<String> = sheet.worth.iter().map(WorthLine::text).collect();
    lines.join(". ")
}

fn order(sheet: &SheetFacts, at: usize, orders: &FarmOrders) -> Markup {
    let row = sheet.rows.iter().find(|row| row.order_at == at);
    let farm = row.map_or(0, |row| orders.at(&row.order));
    let own = &sheet.orders[at];
    html! {
        li {
            (swatch(farm, orders.letter(farm)))
            span { b { (plain(&own.order)) } " " span.where { (plain(&own.place)) } }
        }
    }
}

fn block(title: &str, lines: &[String]) -> Markup {
    html! {
        @if !lines.is_empty() {
            h3 { (title) }
            ul.lines { @for line in lines { li { (plain(line)) } } }
        }
    }
}

fn zones(field: &FarmField<'_>, orders: &FarmOrders) -> Markup {
    let facts = field.facts;
    let sheet = &facts.sheet;
    let (area, cost) = &sheet.unit_names;
    html! {
        table.zones role="table" aria-label={ "Rates by zone, " (plain(field.field)) } {
            thead role="rowgroup" { tr role="row" {
                th role="columnheader" scope="col" { "Zone" }
                th.n role="columnheader" scope="col" { (area) }
                th role="columnheader" scope="col" { "Do first" }
                @for product in &facts.products {
                    th.n role="columnheader" scope="col" { (plain(&product.word)) " " span.unit { (product.unit) } }
                }
                th.n role="columnheader" scope="col" { "Cost " span.unit { (cost) } }
            } }
            tbody role="rowgroup" {
                @for row in &sheet.rows { (zone(field, row, orders)) }
                tr.total role="row" {
                    th role="rowheader" scope="row" { "all" }
                    td.n.area role="cell" {}
                    td.first role="cell" { "total" }
                    @for (total, product) in sheet.totals.iter().zip(&facts.products) {
                        td.n role="cell" data-head=(plain(&product.word)) { (total) }
                    }
                    td.n role="cell" {}
                }
            }
        }
    }
}

fn zone(field: &FarmField<'_>, row: &RowFacts, orders: &FarmOrders) -> Markup {
    let (area, cost) = &field.facts.sheet.unit_names;
    let at = orders.at(&row.order);
    html! {
        tr role="row" {
            th role="rowheader" scope="row" { (swatch(at, orders.letter(at))) (row.zone) }
            td.n.area role="cell" { (row.area) span.unit { " " (area) } }
            td.first role="cell" { (plain(&row.order)) }
            @for (rate, product) in row.rates.iter().zip(&field.facts.products) {
                td.n.zero[rate == "0"] role="cell" data-head=(plain(&product.word)) {
                    (rate) span.unit { " " (product.unit) }
                }
            }
            td.n role="cell" { (row.cost) span.unit { " " (cost) } }
        }
    }
}

fn before(sheet: &SheetFacts) -> Markup {
    html! {
        @if !sheet.before_you_drive.is_empty() {
            div.warn {
                h3 { "Before you drive" }
                ul.lines {
                    @for (what, help) in &sheet.before_you_drive {
                        li { (plain(what)) @if let Some(help) = help { span.way { " \u{2192} " (plain(help)) } } }
                    }
                }
                @if sheet.more_remarks > 0 { p.small { (sheet.more_remarks) " more in the field's own report, which --files rates or --files all writes." } }
            }
        }
    }
}
