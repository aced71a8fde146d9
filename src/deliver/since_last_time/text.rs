//! The sheet as text: short in `report.txt`, whole in `details.txt`.

use super::SINCE;
use super::factor_words::FactorWords;
use super::facts::{STAYED, SinceFacts, ZoneSinceFacts};
use crate::text::Page;

/// The short sheet: what the own strips said, what shows, what left and came, and every formula that was not kept; at most so many zones.
pub fn push_short(page: &mut Page, since: &SinceFacts, most_zones: usize) {
    page.chapter(&format!("{SINCE}: {} beside {}", since.then, since.now));
    push_findings(page, since);
    let mut told: Vec<(&ZoneSinceFacts, String)> = since
        .zones
        .iter()
        .filter_map(|zone| Some((zone, short(zone)?)))
        .collect();
    // A formula that was not kept, then a limit that left or came, is told before a mere change.
    told.sort_by_key(|(zone, _)| (zone.misses.is_empty(), zone.limits.len() < 2, zone.zone));
    let more = told.len().saturating_sub(most_zones);
    told.truncate(most_zones);
    told.sort_by_key(|(zone, _)| zone.zone);
    for (zone, line) in told {
        page.item(&format!("Zone {}  ", zone.zone), &line);
    }
    let rest = if more > 0 {
        format!("{more} more zones, and each")
    } else {
        "Each".to_owned()
    };
    page.paragraph(&format!(
        "{rest} factor then and now with its error: details.txt."
    ));
}

/// What holds for the whole field: what is not known, what own strips said, what zones say together.
fn push_findings(page: &mut Page, since: &SinceFacts) {
    let lines = since.not_known.iter().chain(&since.own_trials);
    for line in lines.chain(&since.together) {
        page.item("- ", line);
    }
}

/// What is worth a line of a zone; nothing where no change shows and no limit left or came.
fn short(zone: &ZoneSinceFacts) -> Option<String> {
    let shown = zone.factors.iter().filter(|factor| factor.is_shown);
    let shown: Vec<String> = shown.map(FactorWords::short).collect();
    let moved = zone
        .limits
        .iter()
        .filter(|line| !line.starts_with(STAYED))
        .cloned();
    let parts: Vec<String> = moved
        .chain(shown)
        .chain(zone.misses.iter().cloned())
        .collect();
    (!parts.is_empty()).then(|| parts.join("; "))
}

/// The whole sheet.
pub fn push_details(page: &mut Page, since: &SinceFacts) {
    page.chapter(&format!("{SINCE}: {} beside {}", since.then, since.now));
    page.paragraph(&since.about);
    push_findings(page, since);
    for zone in &since.zones {
        page.section(&format!("Zone {} {}", zone.zone, zone.ground));
        for factor in &zone.factors {
            page.item("- ", &factor.line());
        }
        for line in zone.misses.iter().chain(&zone.products) {
            page.item("* ", line);
        }
        if !zone.limits.is_empty() {
            page.item("Limits: ", &zone.limits.join("; "));
        }
        page.item("Money: ", &zone.money);
    }
    page.blank();
    page.paragraph(&format!("Errors: {}.", since.source));
}
