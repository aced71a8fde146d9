//! One zone's chapter: barrel, limits, rates, fixes, what was measured.

use std::fmt::Write;

use super::staves::{barrel, without_stave};
use super::table::{list, table};
use crate::deliver::escape::markup;
use crate::deliver::review::{FindingFacts, ZoneReview};

/// The chapter.
#[must_use]
pub fn zone_chapter(zone: &ZoneReview) -> String {
    let mut out = format!(
        "<article id=\"zone-{n}\" aria-labelledby=\"h-zone-{n}\" tabindex=\"-1\"><h3 id=\"h-zone-{n}\">Zone {n} <small>{}</small></h3><p class=\"reason\">{}</p>",
        markup(&zone.area),
        markup(&zone.reason),
        n = zone.zone
    );
    out.push_str(&barrel(zone));
    let missing = without_stave(zone);
    if !missing.is_empty() {
        let _ = write!(
            out,
            "<p class=\"small\">No stave for {}.</p>",
            markup(&missing.join("; "))
        );
    }
    out.push_str(&limits(zone));
    out.push_str(&rates(zone));
    out.push_str(&fixes(zone));
    out.push_str(&others(zone));
    out.push_str(&profile(zone));
    if !zone.cautions.is_empty() {
        let _ = write!(
            out,
            "<div class=\"caution\" role=\"note\"><b>Caution</b>{}</div>",
            list(&zone.cautions)
        );
    }
    out.push_str("</article>");
    out
}

fn limits(zone: &ZoneReview) -> String {
    if zone.limits.is_empty() {
        return "<p>No limit found among the factors that were measured.</p>".to_owned();
    }
    let items: String = zone.limits.iter().map(limit).collect();
    format!("<h4>What limits it</h4><ol class=\"limits\">{items}</ol>")
}

fn limit(finding: &FindingFacts) -> String {
    let mut out = format!(
        "<li><b>{}:</b> {}<p class=\"small\">{}</p>",
        markup(&finding.factor),
        markup(&finding.sentence),
        markup(&finding.grounds())
    );
    if !finding.blocks.is_empty() {
        let _ = write!(
            out,
            "<p class=\"gate\">Closes: {}</p>",
            markup(&finding.blocks.join(", "))
        );
    }
    for caution in &finding.cautions {
        let _ = write!(out, "<p class=\"small\">Mind: {}</p>", markup(caution));
    }
    out.push_str("</li>");
    out
}

fn rates(zone: &ZoneReview) -> String {
    if zone.rates.is_empty() {
        return String::new();
    }
    let items: Vec<String> = zone
        .rates
        .iter()
        .map(|rate| {
            let needed = rate.needed.as_ref().map(|needed| {
                format!(
                    " <span class=\"small\">(asked for in all: {})</span>",
                    markup(needed)
                )
            });
            let lines: Vec<String> = rate
                .steps
                .iter()
                .chain(&rate.notes)
                .map(|line| format!("<p class=\"small\">{}</p>", markup(line)))
                .collect();
            format!(
                "<dt>{}</dt><dd><b>{}</b>{}{}</dd>",
                markup(&rate.product),
                markup(&rate.rate),
                needed.unwrap_or_default(),
                lines.concat()
            )
        })
        .collect();
    format!("<h4>Rates</h4><dl class=\"rates\">{}</dl>", items.concat())
}

fn fixes(zone: &ZoneReview) -> String {
    if zone.fixes.is_empty() {
        return String::new();
    }
    let rows: Vec<Vec<String>> = zone
        .fixes
        .iter()
        .enumerate()
        .map(|(at, fix)| {
            let mut what = fix.what.clone();
            if !fix.after.is_empty() {
                what.push_str(&format!(" (after: {})", fix.after.join(", ")));
            }
            if fix.left_out {
                what.push_str(" (left out by the budget)");
            }
            let order = (at + 1).to_string();
            vec![
                order,
                what,
                fix.factor.clone(),
                fix.cost.clone(),
                fix.effort.clone(),
                fix.seasons.clone(),
                fix.arithmetic.clone(),
                fix.basis.clone(),
            ]
        })
        .collect();
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
    format!(
        "<h4>Order of fixes</h4>{}",
        table(
            &format!("Order of fixes in zone {}", zone.zone),
            &heads,
            &rows
        )
    )
}

fn others(zone: &ZoneReview) -> String {
    if zone.others.is_empty() {
        return String::new();
    }
    let lines: Vec<String> = zone
        .others
        .iter()
        .map(|f| format!("{} ({}): {}", f.factor, f.outcome, f.sentence))
        .collect();
    format!("<h4>Also looked at</h4>{}", list(&lines))
}

fn profile(zone: &ZoneReview) -> String {
    if zone.profile.is_empty() {
        return String::new();
    }
    let rows: Vec<Vec<String>> = zone
        .profile
        .iter()
        .map(|layer| {
            let flat = if layer.is_flat {
                " (one value for the field)"
            } else {
                ""
            };
            let name = format!("{}{flat}", layer.layer);
            vec![
                name,
                layer.mean.clone(),
                layer.standard_error.clone(),
                layer.spread.clone(),
                layer.range.clone(),
                layer.unit.clone(),
                layer.cores.clone(),
            ]
        })
        .collect();
    let heads = [
        "Layer",
        "#Mean",
        "#\u{b1} of mean",
        "#Spread",
        "#Range",
        "Unit",
        "#Cores here",
    ];
    let body = table(&format!("Measured in zone {}", zone.zone), &heads, &rows);
    let layers = if rows.len() == 1 {
        "1 layer".to_owned()
    } else {
        format!("{} layers", rows.len())
    };
    format!(
        "<details><summary>What was measured: {layers}</summary>{body}<p class=\"small\">q: results below or above the range of the test.</p></details>"
    )
}
