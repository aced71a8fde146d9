//! The sheet as a chapter of the page.

use maud::{Markup, html};

use super::factor_words::SampleWords;
use super::facts::{SinceFacts, ZoneSinceFacts};
use super::picture::two_barrels;
use crate::deliver::report_html::{list, plain, table};

const HEADS: [&str; 7] = [
    "Factor",
    "Layer",
    "#Then",
    "#Now",
    "#Difference (90 %)",
    "#Could be seen",
    "What it shows",
];

/// The chapter's body.
#[must_use]
pub fn since_chapter(since: &SinceFacts) -> Markup {
    html! {
        p { (plain(&since.about)) }
        @if !since.own_trials.is_empty() {
            h3 { "What your own strips said" }
            (list(&since.own_trials))
        }
        (list(&since.together))
        @if !since.not_known.is_empty() {
            h3 { "Not known" }
            (list(&since.not_known))
        }
        @for zone in &since.zones { (zone_since(zone, since)) }
        p.small { "Errors: " (plain(&since.source)) "." }
    }
}

fn zone_since(zone: &ZoneSinceFacts, since: &SinceFacts) -> Markup {
    let rows: Vec<Vec<String>> = zone
        .factors
        .iter()
        .map(|factor| {
            vec![
                factor.factor.clone(),
                factor.layer.clone(),
                SampleWords::cell(factor.then.as_ref()),
                SampleWords::cell(factor.now.as_ref()),
                factor.difference.clone(),
                factor.could_see.clone(),
                factor.finding.clone(),
            ]
        })
        .collect();
    html! {
        details.zone-fold id={ "since-" (zone.zone) } {
            summary { b { "Zone " (zone.zone) } " " (plain(&zone.ground)) }
            (two_barrels(zone, (since.then, since.now)))
            @if !rows.is_empty() {
                (table(&format!("Each factor of zone {} then and now", zone.zone), &HEADS, &rows))
            }
            @if !zone.misses.is_empty() {
                h3 { "What did not do what its formula says" }
                (list(&zone.misses))
            }
            @if !zone.products.is_empty() {
                h3 { "Ordered and applied" }
                (list(&zone.products))
            }
            @if !zone.limits.is_empty() {
                h3 { "Limits" }
                (list(&zone.limits))
            }
            p { (plain(&zone.money)) "." }
        }
    }
}
