//! One zone's chapter: barrel, limits, rates, fixes, what was measured.

use maud::{Markup, html};

use super::plain;
use super::staves::{barrel, without_stave};
use super::table::{list, table};
use crate::deliver::review::{FindingFacts, ProfileFacts, RateFacts, ZoneReview};

/// The chapter, folded.
#[must_use]
pub fn zone_chapter(zone: &ZoneReview) -> Markup {
    let missing = without_stave(zone);
    html! {
        details.zone-fold id={ "zone-" (zone.zone) } {
            summary { b { "Zone " (zone.zone) } ", " (zone.area) ": " (plain(&zone.do_first)) }
            p.reason { (plain(&zone.reason)) }
            (barrel(zone))
            @if !missing.is_empty() {
                p.small { "No stave for " (plain(&missing.join("; "))) "." }
            }
            (limits(zone))
            (not_known(zone))
            (rates(zone))
            (fixes(zone))
            (others(zone))
            (profile(zone))
            @if !zone.cautions.is_empty() {
                div.caution role="note" { b { "Caution" } (list(&zone.cautions)) }
            }
        }
    }
}

fn limits(zone: &ZoneReview) -> Markup {
    html! {
        @if zone.limits.is_empty() {
            p { "No limit found among the factors that were measured." }
        } @else {
            h3 { "What limits it" }
            ol.limits { @for finding in &zone.limits { (limit(finding)) } }
        }
    }
}

fn limit(finding: &FindingFacts) -> Markup {
    html! {
        li {
            b { (finding.factor) ":" } " " (plain(&finding.sentence))
            p.small { (plain(&finding.grounds())) }
            @if !finding.blocks.is_empty() {
                p.gate { "Held back until this is fixed: " (plain(&finding.blocks.join(", "))) }
            }
            @for caution in &finding.cautions {
                p.small { "Note: " (plain(caution)) }
            }
        }
    }
}

fn not_known(zone: &ZoneReview) -> Markup {
    html! {
        @if !zone.not_known.is_empty() {
            h3 { "Not known" }
            (list(&zone.not_known))
        }
    }
}

fn rates(zone: &ZoneReview) -> Markup {
    html! {
        @if !zone.rates.is_empty() {
            h3 { "Rates" }
            dl.rates { @for rate in &zone.rates { (one_rate(rate)) } }
        }
    }
}

fn one_rate(rate: &RateFacts) -> Markup {
    html! {
        dt { (plain(&rate.product)) }
        dd {
            b { (rate.rate) }
            @if let Some(needed) = &rate.needed {
                span.small { " (full need: " (needed) ")" }
            }
            @for line in rate.steps.iter().chain(&rate.notes) {
                p.small { (plain(line)) }
            }
        }
    }
}

fn fixes(zone: &ZoneReview) -> Markup {
    let row = |(at, fix): (usize, &crate::deliver::review::FixFacts)| {
        let mut what = fix.what.clone();
        if !fix.after.is_empty() {
            what.push_str(&format!(" (after: {})", fix.after.join(", ")));
        }
        if fix.left_out {
            what.push_str(" (left out by the budget)");
        }
        vec![
            (at + 1).to_string(),
            what,
            fix.factor.clone(),
            fix.cost.clone(),
            fix.effort.clone(),
            fix.seasons.clone(),
            fix.arithmetic.clone(),
            fix.basis.clone(),
        ]
    };
    let heads = [
        "No.",
        "What",
        "For",
        "#Cost",
        "#Effort (of 5)",
        "#Seasons",
        "Severity per cost and effort",
        "Basis",
    ];
    let rows: Vec<Vec<String>> = zone.fixes.iter().enumerate().map(row).collect();
    html! {
        @if !rows.is_empty() {
            h3 { "Order of fixes" }
            (table(&format!("Order of fixes in zone {}", zone.zone), &heads, &rows))
        }
    }
}

fn others(zone: &ZoneReview) -> Markup {
    let lines: Vec<String> = zone
        .others
        .iter()
        .map(|f| format!("{} ({}): {}", f.factor, f.outcome, f.sentence))
        .collect();
    html! {
        @if !lines.is_empty() {
            h3 { "Also looked at" }
            (list(&lines))
        }
    }
}

fn profile(zone: &ZoneReview) -> Markup {
    let heads = [
        "Layer",
        "#Mean",
        "#\u{b1} of mean",
        "#Spread",
        "#Range",
        "Unit",
        "#Samples here",
    ];
    let rows: Vec<Vec<String>> = zone.profile.iter().map(profile_row).collect();
    html! {
        @if !rows.is_empty() {
            h3 { "What was measured" }
            (table(&format!("Measured in zone {}", zone.zone), &heads, &rows))
            p.small { "q: results below or above the range of the test." }
        }
    }
}

fn profile_row(layer: &ProfileFacts) -> Vec<String> {
    let flat = if layer.is_flat {
        " (one value for the field)"
    } else {
        ""
    };
    vec![
        format!("{}{flat}", layer.layer),
        layer.mean.clone(),
        layer.standard_error.clone(),
        layer.spread.clone(),
        layer.range.clone(),
        layer.unit.clone(),
        layer.cores.clone(),
    ]
}
