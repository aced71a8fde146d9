//! The first sheet: it stands alone on one printed page and in one and a half phone screens.

use maud::{Markup, html};

use super::action_map::{action_map, swatch};
use super::map_frame::MapFrame;
use super::plain;
use crate::deliver::overview::Overview;
use crate::deliver::review::{
    FirstSheet, MOST_UNPAID, RemarkFacts, Treatment, WorthLine, ZoneRow, ZoneTable,
};

/// Five staves of a barrel, one of them short.
const MARK: &str = "M2 4h6v34H2zM10.5 4h6v34h-6zM19 22h6v16h-6zM27.5 4h6v34h-6zM36 4h6v34h-6z";

/// Most remarks whose way out stands beside them: the sheet is one page. All stand further down.
const MOST_WAYS_OUT: usize = 2;

/// The sheet, with what the budget left out.
#[must_use]
pub fn first_sheet(
    overview: &Overview<'_>,
    sheet: &FirstSheet,
    unpaid: &[String],
    frame: &MapFrame,
) -> Markup {
    html! {
        section #sheet aria-labelledby="field" {
            (title(sheet))
            div.top {
                figure.main {
                    (action_map(overview, sheet, frame))
                    (cards(sheet))
                }
                div.orders {
                    (do_first(&sheet.treatments))
                    (block("Test first", &sheet.test_lines()))
                    (block("Check strips", &sheet.checks))
                }
            }
            (zone_table(sheet, &total_cost(sheet)))
            (block("Passes", &sheet.passes))
            (buy(sheet, unpaid))
            (before_you_drive(sheet))
            p.small {
                "Labels, local rules on setbacks and permits, and licensed practice come first."
            }
        }
    }
}

fn title(sheet: &FirstSheet) -> Markup {
    html! {
        header.title {
            svg.mark viewBox="0 0 44 40" aria-hidden="true" {
                path.wet d="M2 22h40v16H2z" {}
                path.plank d=(MARK) {}
                path.band d="M0 30h44" {}
            }
            h1 #field { (plain(&sheet.field)) }
            p.about { (plain(&sheet.about.join(" \u{b7} "))) }
            p.people { (plain(&sheet.people.join(" \u{b7} "))) }
        }
    }
}

fn do_first(treatments: &[Treatment]) -> Markup {
    html! {
        h2 { "Do first" }
        ol.letters {
            @for (at, treatment) in treatments.iter().enumerate() {
                li {
                    (swatch(at, &treatment.letter))
                    span { b { (plain(&treatment.order)) } " " span.where { (plain(&treatment.place)) } }
                }
            }
        }
    }
}

fn block(title: &str, lines: &[String]) -> Markup {
    html! {
        @if !lines.is_empty() {
            h2 { (title) }
            ul.lines { @for line in lines { li { (plain(line)) } } }
        }
    }
}

fn total_cost(sheet: &FirstSheet) -> String {
    let dollars = crate::deliver::numbers::grouped(sheet.money.spent() as f64, 0);
    format!("{dollars} USD")
}

/// One row per zone; on a phone one card.
fn zone_table(sheet: &FirstSheet, cost: &str) -> Markup {
    let (table, treatments) = (&sheet.table, &sheet.treatments);
    let heads = table.products.iter().map(|product| &product.word);
    html! {
        table.zones role="table" aria-label="Rates by zone" {
            thead role="rowgroup" { tr role="row" {
                th role="columnheader" scope="col" { "Zone" }
                th.n role="columnheader" scope="col" { (table.area_unit) }
                th role="columnheader" scope="col" { "Do first" }
                @for (head, product) in heads.zip(&table.products) {
                    th.n role="columnheader" scope="col" { (plain(head)) " " span.unit { (product.unit) } }
                }
                th.n role="columnheader" scope="col" { "Cost " span.unit { (table.cost_unit) } }
            } }
            tbody role="rowgroup" {
                @for row in &table.rows { (zone_row(table, treatments, row)) }
                tr.total role="row" {
                    th role="rowheader" scope="row" { "all" }
                    td.n.area role="cell" { (table.total_area) span.unit { " " (table.area_unit) } }
                    td.first role="cell" { "total" }
                    @for (total, product) in table.totals.iter().zip(&table.products) {
                        td.n role="cell" data-head=(plain(&product.word)) { (total) }
                    }
                    td.n role="cell" { (cost) }
                }
            }
        }
        p.small {
            @if !table.parts.is_empty() { "Not all yet: " (plain(&table.parts)) ". " }
            @if !table.unmet.is_empty() { "Left unmet: " (plain(&table.unmet)) ". " }
            @if !table.disputed.is_empty() { span.not-on-phone { "Research disputes: " (plain(&table.disputed)) ". " } }
            @for line in &sheet.worth { (worth(line)) }
            @for line in &sheet.readings { (plain(line)) ". " }
            @if table.has_strips { span.not-on-phone { "Totals count the check strips; the rows do not. " } }
            @if !table.waiting.is_empty() { "Waits for a test: " (plain(&table.waiting.join(", "))) ". " }
            @if !table.unpaid.is_empty() { "Needed, not paid for by the budget: " (plain(&table.unpaid.join(", "))) ". " }
            @if !table.not_in_shed.is_empty() { "Needed, not in the shed: " (plain(&table.not_in_shed.join(", "))) ". " }
            @if !table.unused.is_empty() { span.not-on-phone.not-on-paper { "Not recommended anywhere: " (plain(&table.unused.join(", "))) ". " } }
            "Outside every zone set the controller to 0 (\u{201c}out of field\u{201d}, \u{201c}position lost\u{201d})."
        }
    }
}

/// On a phone the rates have to be in sight; what is left out there stands in the text and in the details.
fn worth(line: &WorthLine) -> Markup {
    let text = line.text();
    html! {
        @if matches!(line, WorthLine::NoCash(_)) { span.not-on-phone { (plain(&text)) ". " } } @else { (plain(&text)) ". " }
    }
}

fn zone_row(table: &ZoneTable, treatments: &[Treatment], row: &ZoneRow) -> Markup {
    let letter = treatments.get(row.treatment).map_or("", |t| &t.letter);
    html! {
        tr role="row" {
            th role="rowheader" scope="row" { (swatch(row.treatment, letter)) (row.zone) }
            td.n.area role="cell" { (row.area) span.unit { " " (table.area_unit) } }
            td.first role="cell" { (plain(&row.order)) }
            @for ((rate, is_applied), product) in row.rates.iter().zip(&row.is_applied).zip(&table.products) {
                td.n.zero[!is_applied] role="cell" data-head=(plain(&product.word)) {
                    (rate) span.unit { " " (product.unit) }
                }
            }
            td.n role="cell" { (row.cost) span.unit { " " (table.cost_unit) } }
        }
    }
}

/// One card per zone, shown in place when the zone is chosen on the map.
fn cards(sheet: &FirstSheet) -> Markup {
    html! {
        div.cards aria-live="polite" {
            p.hint { "Choose a zone on the map to see what it gets." }
            @for row in &sheet.table.rows { (card(&sheet.table, row)) }
        }
    }
}

fn card(table: &ZoneTable, row: &ZoneRow) -> Markup {
    html! {
        div.card hidden id={ "card-" (row.zone) } {
            p { b { "Zone " (row.zone) } ", " (row.area) " " (table.area_unit) ": " (plain(&row.do_first)) "." }
            p {
                @for (rate, product) in row.rates.iter().zip(&table.products) {
                    (plain(&product.label)) " " b { (rate) } " " (product.unit) "; "
                }
                (row.cost) " " (table.cost_unit)
            }
            p.small { (plain(&row.reason)) }
            p { a href={ "#zone-" (row.zone) } { "All reasons for zone " (row.zone) } }
        }
    }
}

fn buy(sheet: &FirstSheet, unpaid: &[String]) -> Markup {
    html! {
        div.buy {
            @if !sheet.buy.is_empty() {
                h2 { "Buy" }
                p.amounts {
                    @for (at, line) in sheet.buy.iter().enumerate() {
                        @if at > 0 { "; " }
                        (plain(&line.amount))
                        @if let Some(cost) = &line.packs_cost { span.not-on-phone { " (packs " (plain(cost)) ")" } }
                    }
                }
            }
            p.money {
                b { "Money: " } (sheet.money.sum())
                @if let Some(packs) = sheet.money.packs() { span.not-on-phone { "; " (packs) } }
                @if !sheet.work.is_empty() { span.not-on-phone { ". Other work by zone: " (plain(&sheet.work)) } }
            }
            @for line in unpaid.iter().take(MOST_UNPAID) {
                p.small { b { "Not paid for: " } (plain(line)) "." }
            }
            @if unpaid.len() > MOST_UNPAID {
                p.small { (unpaid.len() - MOST_UNPAID) " more lines on the budget below." }
            }
        }
    }
}

fn before_you_drive(sheet: &FirstSheet) -> Markup {
    let more = sheet.more_remarks;
    html! {
        @if !sheet.before_you_drive.is_empty() {
            div.warn {
                h2 { "Before you drive" }
                ul.lines { @for (at, remark) in sheet.before_you_drive.iter().enumerate() { (short_remark(remark, at < MOST_WAYS_OUT)) } }
                @if more > 0 {
                    p.small.not-on-paper.not-on-phone { (more) " more below, under \u{201c}Check before you drive\u{201d}." }
                }
            }
        }
    }
}

fn short_remark(remark: &RemarkFacts, has_way_out: bool) -> Markup {
    html! {
        // On a phone the third stands further down alone, so that the rates stay in sight.
        li.not-on-phone[!has_way_out] {
            (plain(&remark.summary()))
            @if let Some(help) = remark.help.as_ref().filter(|_| has_way_out) { span.way { " \u{2192} " (plain(help)) } }
        }
    }
}
