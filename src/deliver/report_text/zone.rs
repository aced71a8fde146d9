use crate::deliver::review::{FindingFacts, ZoneReview};
use crate::text::{Column, Page};

/// One zone's chapter alone, as `explain` prints it.
#[must_use]
pub fn zone_text(zone: &ZoneReview) -> String {
    let mut page = Page::default();
    push_zone(&mut page, zone);
    page.finish()
}

/// One zone's chapter.
pub fn push_zone(page: &mut Page, zone: &ZoneReview) {
    page.section(&format!("Zone {}, {}", zone.zone, zone.area));
    if !zone.do_first.is_empty() {
        page.item("First: ", &zone.do_first);
    }
    page.paragraph(&zone.reason);
    limits(page, zone);
    rates(page, zone);
    fixes(page, zone);
    not_known(page, zone);
    others(page, zone);
    profile(page, zone);
    if !zone.cautions.is_empty() {
        page.blank();
        zone.cautions
            .iter()
            .for_each(|caution| page.item("Caution: ", caution));
    }
}

fn limits(page: &mut Page, zone: &ZoneReview) {
    page.blank();
    if zone.limits.is_empty() {
        page.paragraph("No limit found among the factors that were measured.");
        return;
    }
    page.paragraph("What limits it, most severe first:");
    for (at, finding) in zone.limits.iter().enumerate() {
        page.item(&format!(" {}. ", at + 1), &headed(finding));
        page.item("    ", &finding.grounds());
        if !finding.blocks.is_empty() {
            page.item(
                "    ",
                &format!(
                    "Held back until this is fixed: {}.",
                    finding.blocks.join(", ")
                ),
            );
        }
        finding
            .cautions
            .iter()
            .for_each(|caution| page.item("    Note: ", caution));
    }
}

/// The sentence, with the factor's name before it unless it starts with it.
fn headed(finding: &FindingFacts) -> String {
    if finding.sentence.to_lowercase().starts_with(&finding.factor) {
        finding.sentence.clone()
    } else {
        format!("{}: {}", finding.factor, finding.sentence)
    }
}

fn rates(page: &mut Page, zone: &ZoneReview) {
    if zone.rates.is_empty() {
        return;
    }
    page.blank();
    page.paragraph("Rates:");
    for rate in &zone.rates {
        let needed = rate
            .needed
            .as_ref()
            .map(|needed| format!(" (full need: {needed})"))
            .unwrap_or_default();
        page.item(" - ", &format!("{}: {}{needed}", rate.product, rate.rate));
        rate.steps.iter().for_each(|step| page.item("     ", step));
        rate.notes.iter().for_each(|note| page.item("     ", note));
    }
}

fn fixes(page: &mut Page, zone: &ZoneReview) {
    if zone.fixes.is_empty() {
        return;
    }
    page.blank();
    page.paragraph("Order of fixes:");
    for (at, fix) in zone.fixes.iter().enumerate() {
        page.item(
            &format!(" {}. ", at + 1),
            &format!("{} (for {})", fix.what.trim_end_matches('.'), fix.factor),
        );
        page.item("    ", &format!("{}; {}", fix.terms(), fix.basis));
        page.item("    ", &fix.arithmetic);
    }
}

fn not_known(page: &mut Page, zone: &ZoneReview) {
    if zone.not_known.is_empty() {
        return;
    }
    page.blank();
    page.paragraph("Not known:");
    zone.not_known
        .iter()
        .for_each(|line| page.item(" - ", line));
}

fn others(page: &mut Page, zone: &ZoneReview) {
    if zone.others.is_empty() {
        return;
    }
    page.blank();
    page.paragraph("Also looked at:");
    for finding in &zone.others {
        page.item(
            " - ",
            &format!(
                "{} ({}): {}",
                finding.factor, finding.outcome, finding.sentence
            ),
        );
    }
}

fn profile(page: &mut Page, zone: &ZoneReview) {
    if zone.profile.is_empty() {
        return;
    }
    page.blank();
    let columns = [
        Column::text("Measured"),
        Column::number("Mean", ""),
        Column::number("+/-", "of mean"),
        Column::number("Spread", ""),
        Column::text("Unit"),
        Column::number("Samples", "here"),
    ];
    let rows = zone.profile.iter().map(|layer| {
        let mark = if layer.is_flat { " (whole field)" } else { "" };
        let name = format!("{}{mark}", layer.layer);
        vec![
            name,
            layer.mean.clone(),
            layer.standard_error.clone(),
            layer.spread.clone(),
            layer.unit.clone(),
            layer.cores.clone(),
        ]
    });
    page.table(&columns, &rows.collect::<Vec<_>>());
    if zone.profile.iter().any(|layer| layer.cores.contains('q')) {
        page.paragraph("q: results below or above the range of the test.");
    }
}
