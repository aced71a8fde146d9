//! `verdict.html`: one file that needs no network.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::picture::{intervals, map, placebos};
use super::{SetFacts, VerdictInput, ZoneVerdict};
use crate::deliver::error::DeliverError;
use crate::deliver::numbers::grouped;
use crate::deliver::output_file::OutputFile;
use crate::deliver::report_html::STYLE;
use crate::deliver::run_record::{PROGRAM, VERSION};
use crate::text::capital;
use crate::trial::harvest::Fate;
use crate::units::fixed;

/// The file.
///
/// # Errors
/// None; the signature is that of every maker.
#[expect(clippy::unnecessary_wraps, reason = "every maker has this front door")]
pub fn file(input: &VerdictInput, sets: &[SetFacts]) -> Result<OutputFile, DeliverError> {
    let markup = page(input, sets).into_string();
    Ok(OutputFile::new("verdict.html", markup + "\n"))
}

fn page(input: &VerdictInput, sets: &[SetFacts]) -> Markup {
    let facts = &input.facts;
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";
                meta name="color-scheme" content="light dark";
                title { (facts.field) ": what the check strips say" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main #main {
                    header.title { h1 { (facts.field) } p.about { "what the check strips say \u{b7} " (facts.crop) " " (facts.season) } }
                    @for (set, judged) in sets.iter().zip(&input.harvest.sets) { (section(input, set, judged)) }
                    (cleaning(input))
                    (remarks(input))
                    p.small {
                        "The gain is the mean of the passes on both sides less the strip. Its error comes from the same difference at passes without a strip. "
                        "One season is one draw of the weather: lay the strips again before you change the whole farm."
                    }
                }
                footer { p { "Made by " (PROGRAM) " " (VERSION) "." } }
            }
        }
    }
}

fn section(
    input: &VerdictInput,
    set: &SetFacts,
    judged: &crate::trial::verdict::JudgedSet,
) -> Markup {
    html! {
        section {
            h2 { "Strips \u{201c}" (set.treatment) "\u{201d}" }
            div.top {
                figure { (map(input, judged)) figcaption.small { "Grey: records that were kept. Outlined: the strips." } }
                div {
                    @for zone in set.lines() { (verdict(set, zone)) }
                }
            }
            figure {
                (intervals(set))
                figcaption.small { "Dot: gain. Line: 90 % interval. Short upright line: the gain that pays." }
            }
            @for line in &set.comparisons { p.small { (line) } }
            @for zone in &set.together { p.small { (zone.sentence) } }
            details {
                summary { h2 { "Passes without a strip" } }
                @for zone in set.zones.iter().filter(|zone| zone.gain.is_some()) {
                    figure {
                        figcaption { (set.name(zone)) ": " (zone.placebos.unwrap_or_default()) " passes, scatter " (fixed(zone.scatter.unwrap_or_default(), 2)) " " (set.unit) }
                        (placebos(set, zone))
                    }
                }
            }
        }
    }
}

fn verdict(set: &SetFacts, zone: &ZoneVerdict) -> Markup {
    html! {
        p { b { (set.name(zone)) ": " (zone.finding) } }
        p.small {
            (zone.sentence)
            @if let Some((net, low, high)) = zone.net_usd_ac {
                " After its cost: " (fixed(net, 2)) " USD/ac (" (fixed(low, 2)) " to " (fixed(high, 2)) ")."
            }
        }
    }
}

fn cleaning(input: &VerdictInput) -> Markup {
    let cleaned = &input.harvest.cleaned;
    html! {
        details {
            summary { h2 { "What was done with the records" } }
            table {
                tr { th scope="row" { "read" } td.n { (grouped(input.points.len() as f64, 0)) } }
                @for fate in Fate::DROPPED {
                    tr { th scope="row" { (fate.words()) } td.n { (grouped(cleaned.count(fate) as f64, 0)) } }
                }
                tr { th scope="row" { "kept" } td.n { (grouped(cleaned.points.len() as f64, 0)) } }
            }
        }
    }
}

fn remarks(input: &VerdictInput) -> Markup {
    html! {
        @if !input.remarks.is_empty() {
            details open {
                summary { h2 { "Remarks" } }
                ul.lines {
                    @for remark in &input.remarks {
                        li { (capital(&remark.what)) @if let Some(help) = &remark.help { " \u{2192} " (capital(help)) } }
                    }
                }
            }
        }
    }
}
