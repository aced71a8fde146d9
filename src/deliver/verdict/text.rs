//! `verdict.txt`.

use super::{SetFacts, VerdictInput, ZoneVerdict};
use crate::analyte::decimals;
use crate::deliver::error::DeliverError;
use crate::deliver::numbers::grouped;
use crate::deliver::output_file::OutputFile;
use crate::deliver::remark_lines::push_remarks;
use crate::text::capital;
use crate::text::{Column, Page};
use crate::trial::harvest::Fate;
use crate::units::{METRES_PER_FOOT, UnitSystem, fixed};

/// The file.
///
/// # Errors
/// None; the signature is that of every maker.
#[expect(clippy::unnecessary_wraps, reason = "every maker has this front door")]
pub fn file(input: &VerdictInput, sets: &[SetFacts]) -> Result<OutputFile, DeliverError> {
    let facts = &input.facts;
    let mut page = Page::default();
    page.chapter(&format!(
        "{}: what the check strips say, {} {}",
        facts.field, facts.crop, facts.season
    ));
    for set in sets {
        push_set(&mut page, set, facts.units);
    }
    cleaning(&mut page, input);
    push_remarks(&mut page, &input.remarks);
    page.chapter("How to read this");
    page.paragraph(
        "The gain is the mean of the passes on both sides less the strip, segment by segment. Its error comes from the same difference at passes that \
         had no strip. An interval of 90 % holds the true gain in 90 of 100 seasons like this one. One season is one draw of the weather: lay the strips \
         again before you change the whole farm.",
    );
    Ok(OutputFile::new("verdict.txt", page.finish()))
}

/// A line a zone, for the terminal.
pub fn summary(sets: &[SetFacts]) -> Vec<String> {
    let mut lines = Vec::new();
    for set in sets {
        lines.push(format!("{}:", capital(&set.treatment)));
        for zone in set.lines() {
            lines.push(format!("  {}  {}", set.name(zone), zone.sentence));
        }
    }
    lines
}

fn push_set(page: &mut Page, set: &SetFacts, units: UnitSystem) {
    page.chapter(&format!("Strips \"{}\"", set.treatment));
    for zone in set.lines() {
        let lead = format!("{}  ", set.name(zone));
        page.item(&lead, &zone.sentence);
        if let Some((net, low, high)) = zone.net_usd_ac {
            let net = format!(
                "After its cost: {} USD/ac (90 %: {} to {}).",
                fixed(net, 2),
                fixed(low, 2),
                fixed(high, 2)
            );
            page.item(&" ".repeat(lead.chars().count()), &net);
        }
    }
    page.blank();
    push_table(page, set, units);
    for zone in set.lines() {
        push_chance(page, set, zone);
    }
    set.comparisons.iter().for_each(|line| page.paragraph(line));
    let together = set.together.iter();
    together.for_each(|zone| page.paragraph(&zone.sentence));
    push_strips(page, set);
}

fn push_table(page: &mut Page, set: &SetFacts, units: UnitSystem) {
    let columns = [
        Column::text(""),
        Column::number("Gain", set.unit),
        Column::number("Low", "90 %"),
        Column::number("High", "90 %"),
        Column::number("Pays from", set.unit),
        Column::number("Could see", set.unit),
        Column::number("Strips", ""),
        Column::number("Length", length_unit(units)),
    ];
    let rows: Vec<Vec<String>> = set.lines().map(|zone| row(set, zone, units)).collect();
    page.table(&columns, &rows);
}

/// What chance would show, and the second opinion.
fn push_chance(page: &mut Page, set: &SetFacts, zone: &ZoneVerdict) {
    let name = set.name(zone);
    if zone.is_borrowed {
        page.paragraph(&format!(
            "{name}: too few passes of its own had no strip, so chance is measured on {} stretches of other zones, and is taken no smaller than the strips \
             differ from each other.",
            zone.placebos.unwrap_or_default()
        ));
    }
    if let (Some(p), Some(least)) = (zone.p_value, zone.least_p_value) {
        page.paragraph(&format!(
            "{name}: {} of 1,000 draws of the strips would show as much by chance (p {}; the least that so few draws can show is {}).",
            fixed(1_000.0 * p, 0),
            fixed(p, 3),
            fixed(least, 4)
        ));
    }
    if let Some((gain, low, high)) = zone.second_opinion {
        page.paragraph(&format!(
            "{name}, second opinion: {} (90 %: {} to {}) {}. It is least squares with a spatial error, which does not know the error that a pass carries \
             along its whole length, so it is too sure; it is never the verdict.",
            fixed(gain, decimals(set.unit)),
            fixed(low, decimals(set.unit)),
            fixed(high, decimals(set.unit)),
            set.unit
        ));
    }
}

fn push_strips(page: &mut Page, set: &SetFacts) {
    let with_strips: Vec<&ZoneVerdict> = set
        .zones
        .iter()
        .filter(|zone| !zone.by_strip.is_empty())
        .collect();
    if with_strips.is_empty() {
        return;
    }
    page.section("Strip by strip");
    for zone in with_strips {
        let strips: Vec<String> = zone
            .by_strip
            .iter()
            .map(|(name, gain)| format!("{name}: {}", fixed(*gain, decimals(set.unit))))
            .collect();
        page.item(&format!("{}  ", set.name(zone)), &strips.join("; "));
    }
}

fn length_unit(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::UnitedStates => "ft",
        UnitSystem::Metric => "m",
    }
}

fn row(set: &SetFacts, zone: &ZoneVerdict, units: UnitSystem) -> Vec<String> {
    let number = |value: Option<f64>| {
        value.map_or_else(|| "-".to_owned(), |value| fixed(value, decimals(set.unit)))
    };
    let length = match units {
        UnitSystem::UnitedStates => zone.metres / METRES_PER_FOOT,
        UnitSystem::Metric => zone.metres,
    };
    vec![
        set.name(zone),
        number(zone.gain),
        number(zone.interval_90.map(|ends| ends.0)),
        number(zone.interval_90.map(|ends| ends.1)),
        number(zone.pays_from),
        number(zone.least_seen),
        format!("{} of {}", zone.strips, zone.strips_laid),
        grouped(length, 0),
    ]
}

fn cleaning(page: &mut Page, input: &VerdictInput) {
    let cleaned = &input.harvest.cleaned;
    page.chapter("What was done with the records");
    for (file, name, role, unit) in &input.columns {
        let unit = unit
            .as_ref()
            .map_or_else(String::new, |unit| format!(", {unit}"));
        page.item(
            "- ",
            &format!(
                "{file}: \"{name}\" is {}{unit}",
                role.name().replace('_', " ")
            ),
        );
    }
    page.item(
        "- ",
        &format!("{} records read", grouped(input.points.len() as f64, 0)),
    );
    for fate in Fate::DROPPED {
        page.item(
            "- ",
            &format!(
                "{} left out: {}",
                grouped(cleaned.count(fate) as f64, 0),
                fate.words()
            ),
        );
    }
    page.item(
        "- ",
        &format!(
            "{} kept, compared at {} % moisture",
            grouped(cleaned.points.len() as f64, 0),
            fixed(input.harvest.standard_moisture, 1)
        ),
    );
}
