//! `farm.html`: the farm's sheet, then each field's.

use maud::{Markup, html};

use super::field_sheet::field_sheet;
use super::input::FarmInput;
use super::map::farm_map;
use super::sheet::{FarmSheet, FieldLine, MOST_PROBLEMS, MOST_SHEETS};
use super::text::{MORE_REMARKS, ORDER_OF_AUTHORITY};
use crate::deliver::numbers::grouped;
use crate::deliver::report_html::{plain, plain_document, swatch};
use crate::units::Area;

const STYLE: &str = include_str!("farm.css");
const FOOT: &str = "Screening estimates from your own files, not an engineering or legal opinion. zones.parquet and fields.parquet hold every zone and field.";

/// The page.
pub(super) fn page(input: &FarmInput<'_>, sheet: &FarmSheet) -> String {
    let main = html! {
        section #sheet aria-labelledby="farm" {
            header.title {
                h1 #farm { (plain(input.farm)) }
                p.about { (plain(&sheet.about.join(" \u{b7} "))) }
                p.people { (plain(&sheet.people.join(" \u{b7} "))) }
            }
            div.top {
                figure.main {
                    @match farm_map(input, &sheet.orders) {
                        Some(map) => (map),
                        None => p.small { "No map is drawn of so many fields: zones.parquet opens in a GIS program." },
                    }
                }
                div.orders { (do_first(input, sheet)) (problems(sheet)) }
            }
            (fields(sheet))
            (buy(sheet))
            (before_you_drive(sheet))
            p.small { (sheet.card_line()) " " (ORDER_OF_AUTHORITY) }
        }
        (sheets(input, sheet))
    };
    plain_document(input.farm, STYLE, main, FOOT).into_string() + "\n"
}

fn do_first(input: &FarmInput<'_>, sheet: &FarmSheet) -> Markup {
    html! {
        h2 { "Do first" }
        ol.letters {
            @for (at, order) in sheet.orders.orders.iter().enumerate() {
                li {
                    (swatch(at, &order.letter))
                    span {
                        b { (plain(&order.order)) } " "
                        span.where {
                            (order.fields) @if order.fields == 1 { " field; " } @else { " fields; " }
                            (grouped(Area::from_square_metres(order.area_m2).number_in(input.units), 0)) " " (Area::unit_in(input.units))
                        }
                    }
                }
            }
        }
    }
}

fn problems(sheet: &FarmSheet) -> Markup {
    html! {
        @if !sheet.problems.is_empty() {
            h2 { "Fields without rates" }
            ul.lines {
                @for (id, what) in sheet.problems.iter().take(MOST_PROBLEMS) { li { b { (plain(id)) } ": " (plain(what)) } }
                @if let Some(more) = sheet.more_problems() { li { (plain(&more)) } }
            }
        }
    }
}

fn fields(sheet: &FarmSheet) -> Markup {
    let has_sheets = sheet.lines.len() <= MOST_SHEETS;
    html! {
        table.zones.fields role="table" aria-label="The fields" {
            thead role="rowgroup" { tr role="row" {
                th role="columnheader" scope="col" { "Field" }
                th.n role="columnheader" scope="col" { (sheet.total_area.1) }
                th role="columnheader" scope="col" { "Do first" }
                th role="columnheader" scope="col" { "Test first" }
                th.n role="columnheader" scope="col" { "Cost " span.unit { "USD" } }
                th role="columnheader" scope="col" { "Varying leaves less on the wrong ground " span.unit { "USD/" (sheet.total_area.1) ", 90 % interval" } }
            } }
            tbody role="rowgroup" {
                @for line in &sheet.lines { (field(sheet, line, has_sheets)) }
                tr.total role="row" {
                    th role="rowheader" scope="row" { "all" }
                    td.n.area role="cell" { (sheet.total_area.0) span.unit { " " (sheet.total_area.1) } }
                    td role="cell" {}
                    td role="cell" {}
                    td.n role="cell" { (sheet.total_cost) span.unit { " USD" } }
                    td role="cell" {}
                }
            }
        }
    }
}

fn field(sheet: &FarmSheet, line: &FieldLine, has_sheets: bool) -> Markup {
    html! {
        tr role="row" {
            th role="rowheader" scope="row" {
                @if has_sheets { a href={ "#field-" (line.id) } { (plain(&line.field)) } } @else { (plain(&line.field)) }
            }
            td.n.area role="cell" { (line.area) span.unit { " " (sheet.total_area.1) } }
            td.do role="cell" {
                @for at in &line.orders { (swatch(*at, sheet.orders.letter(*at))) }
                (plain(&line.first))
            }
            td.test role="cell" { @if let Some(test) = &line.test { (plain(test)) } }
            td.n role="cell" { (line.cost) span.unit { " USD" } }
            td.worth role="cell" { (plain(&line.worth)) }
        }
    }
}

fn buy(sheet: &FarmSheet) -> Markup {
    html! {
        div.buy {
            @if !sheet.buy.is_empty() {
                h2 { "Buy, once for all fields" }
                ul.lines.list { @for line in &sheet.buy { li { (plain(line)) } } }
            }
            p.money { b { "Money: " } (plain(&sheet.money.join(". "))) "." }
        }
    }
}

fn before_you_drive(sheet: &FarmSheet) -> Markup {
    html! {
        @if !sheet.before_you_drive.is_empty() {
            div.warn {
                h2 { "Before you drive" }
                ul.lines { @for line in &sheet.before_you_drive { li { (plain(line)) } } }
                @if sheet.more_remarks > 0 { p.small { (sheet.more_remarks) " more " (MORE_REMARKS) "." } }
            }
        }
    }
}

fn sheets(input: &FarmInput<'_>, sheet: &FarmSheet) -> Markup {
    html! {
        @if input.fields.len() <= MOST_SHEETS {
            @for field in &input.fields { (field_sheet(field, &sheet.orders)) }
        } @else {
            p { "The first sheets of more than " (MOST_SHEETS) " fields would not fit one page: run the farm with \u{201c}--files all\u{201d} and open each field's report.html." }
        }
    }
}
