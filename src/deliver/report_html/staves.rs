//! The barrel of a zone: one stave per factor, as high as the factor stands to its need. The water stands at the lowest stave.

use maud::{Markup, html};

use super::plain;
use super::stave_words;
use crate::deliver::review::{FindingFacts, ZoneReview};

/// Widest stave, and widest barrel that fits the page.
const WIDEST: (f64, f64) = (84.0, 1_040.0);
const GAP: f64 = 6.0;
const HEIGHT: f64 = 150.0;
/// Room over the hoop.
const TOP: f64 = 26.0;
/// A stave at the rule's worst value is still to be seen.
const LOWEST: f64 = 0.05;

/// The finding that speaks for each factor, in the order in which they are listed: what limits first.
fn spokesmen(zone: &ZoneReview) -> Vec<&FindingFacts> {
    let mut chosen: Vec<&FindingFacts> = Vec::new();
    for finding in zone
        .limits
        .iter()
        .chain(&zone.others)
        .filter(|finding| finding.value.is_some())
    {
        let is_judged = matches!(finding.outcome.as_str(), "limiting" | "adequate");
        if is_judged && chosen.iter().all(|seen| seen.factor != finding.factor) {
            chosen.push(finding);
        }
    }
    chosen
}

/// How high a factor stands to its need, 0 to 1.
fn standing(finding: &FindingFacts) -> f64 {
    if finding.outcome == "limiting" {
        (1.0 - finding.severity).max(LOWEST)
    } else {
        1.0
    }
}

/// The drawing; nothing where no factor could be judged.
#[must_use]
pub fn barrel(zone: &ZoneReview) -> Markup {
    let findings = spokesmen(zone);
    let lowest = findings
        .iter()
        .copied()
        .min_by(|a, b| standing(a).total_cmp(&standing(b)));
    html! {
        @if let Some(lowest) = lowest { (drawing(zone, &findings, lowest)) }
    }
}

fn drawing(zone: &ZoneReview, findings: &[&FindingFacts], lowest: &FindingFacts) -> Markup {
    let count = findings.len() as f64;
    let stave = ((WIDEST.1 - GAP) / count - GAP).min(WIDEST.0);
    let width = count * (stave + GAP) + GAP;
    let (hoop, ground) = (TOP, TOP + HEIGHT);
    let lines = stave_words::lines(findings, stave);
    let water = ground - standing(lowest) * HEIGHT;
    let view_box = format!("0 0 {width:.0} {:.0}", ground + stave_words::height(lines));
    let across = |y: f64| format!("M0 {y:.1}H{width:.0}");
    html! {
        div.scroll tabindex="0" role="group" aria-label={ "Barrel of zone " (zone.zone) } {
            svg.barrel viewBox=(view_box) width=(format!("{width:.0}")) role="img" aria-label=(spoken(findings)) {
                rect.water x="0" y=(tenth(water)) width=(format!("{width:.0}")) height=(tenth(ground - water)) {}
                @for (at, finding) in findings.iter().enumerate() {
                    (one_stave((GAP + at as f64 * (stave + GAP), stave), ground, finding, lines))
                }
                path.hoop d=(across(hoop)) {}
                text.hooptext x="4" y=(tenth(hoop - 7.0)) { "need is met" }
                path.level d=(across(water)) {}
                path.ground d=(across(ground)) {}
            }
        }
    }
}

fn one_stave((x, stave): (f64, f64), ground: f64, finding: &FindingFacts, lines: usize) -> Markup {
    let height = standing(finding) * HEIGHT;
    let (y, middle) = (ground - height, x + stave / 2.0);
    let is_short = finding.outcome == "limiting";
    // A stave is a little narrower at the foot, as on a barrel.
    let shape = format!(
        "M{x:.1} {y:.1}h{stave:.1}l-4 {height:.1}h{:.1}z",
        8.0 - stave
    );
    let is_inside = height > 40.0;
    let text_y = if is_inside { y + 22.0 } else { y - 8.0 };
    let percent = format!("{:.0} %", standing(finding) * 100.0);
    html! {
        path.stave.short[is_short].full[!is_short] d=(shape) {}
        @if is_short {
            text.share.in[is_inside] x=(tenth(middle)) y=(tenth(text_y)) { (percent) }
        }
        (stave_words::words(finding, (middle, ground), stave, lines))
    }
}

fn tenth(value: f64) -> String {
    format!("{value:.1}")
}

/// The same for ears.
fn spoken(findings: &[&FindingFacts]) -> String {
    let parts = findings.iter().map(|finding| {
        let value = finding.value.as_deref().unwrap_or_default();
        if finding.outcome == "limiting" {
            format!(
                "{} stands at {:.0} percent of its need ({value}, trouble {})",
                finding.factor,
                standing(finding) * 100.0,
                finding.threshold
            )
        } else {
            format!("{} meets its need ({value})", finding.factor)
        }
    });
    plain(&format!(
        "Barrel chart: {}.",
        parts.collect::<Vec<_>>().join("; ")
    ))
}

/// Factors that have no stave, and why.
#[must_use]
pub fn without_stave(zone: &ZoneReview) -> Vec<String> {
    let shown: Vec<&str> = spokesmen(zone)
        .iter()
        .map(|finding| finding.factor.as_str())
        .collect();
    let mut lines: Vec<String> = Vec::new();
    for finding in &zone.others {
        let is_told = shown.contains(&finding.factor.as_str())
            || lines
                .iter()
                .any(|line| line.starts_with(&format!("{}:", finding.factor)));
        if !is_told {
            lines.push(format!("{}: {}", finding.factor, finding.outcome));
        }
    }
    lines
}
