//! `follow.txt`: the first sheet, then stand, emergence, Brix, leaves and feeds zone by zone.

use super::FollowInput;
use super::first_page::NOTE;
use super::tank::salt;
use super::words;
use crate::deliver::numbers::zones_in_words;
use crate::deliver::output_file::OutputFile;
use crate::deliver::remark_lines::push_remarks;
use crate::deliver::report_text::push_first_sheet;
use crate::deliver::review::{ALWAYS, FirstSheet};
use crate::season::{BrixComparison, FeedProduct, LeafFeed, TissueResult};
use crate::text::{Column, Page, capital};
use crate::units::{decimal, fixed, significant};

/// The file.
pub(super) fn file(input: &FollowInput, sheet: &FirstSheet) -> OutputFile {
    let mut page = Page::default();
    push_first_sheet(&mut page, sheet);
    stands(&mut page, input);
    emergence(&mut page, input);
    brix(&mut page, input);
    tissue(&mut page, input);
    feeds(&mut page, input);
    not_fed(&mut page, input);
    files(&mut page, input);
    push_remarks(&mut page, &input.remarks);
    cautions(&mut page, input);
    OutputFile::new("follow.txt", page.finish())
}

/// Whole numbers, or a dash.
fn whole(value: Option<f64>) -> String {
    value.map_or_else(|| "-".to_owned(), |value| decimal(value, 0))
}

/// "8", "8 no starter 1".
fn name(zone: u32, strip: Option<&String>) -> String {
    strip.map_or_else(|| zone.to_string(), |strip| format!("{zone} {strip}"))
}

/// Lines that several zones share, each once with its zones.
fn shared(page: &mut Page, lines: impl Iterator<Item = (u32, String)>) {
    let mut told: Vec<(String, Vec<u32>)> = Vec::new();
    for (zone, line) in lines {
        match told.iter_mut().find(|(known, _)| *known == line) {
            Some((_, zones)) if !zones.contains(&zone) => zones.push(zone),
            Some(_) => {}
            None => told.push((line, vec![zone])),
        }
    }
    for (line, zones) in told {
        page.item(
            "- ",
            &format!("{}: {line}", capital(&zones_in_words(&zones))),
        );
    }
}

fn stands(page: &mut Page, input: &FollowInput) {
    let stands = &input.review.stands;
    if stands.is_empty() {
        return;
    }
    page.chapter("Stand");
    let units = input.facts.units;
    let (_, unit) = words::plants_unit(units);
    let columns = [
        Column::text("Zone, strip"),
        Column::number("Places", ""),
        Column::number("Mean", unit),
        Column::number("90 %", unit),
        Column::number("Target", "%"),
        Column::number("Keeps", "%"),
        Column::number("More", ""),
    ];
    let number = |plants: f64| words::plants(plants, units);
    let rows: Vec<Vec<String>> = stands
        .iter()
        .map(|stand| {
            let keeps = stand.keeps.iter().find(|keeps| !keeps.is_second_opinion);
            vec![
                name(stand.zone, stand.strip.as_ref()),
                stand.places.to_string(),
                number(stand.plants_per_acre),
                words::ends_of_plants(stand.interval_90, units),
                whole(stand.share_pct),
                whole(keeps.and_then(|keeps| keeps.percent)),
                stand.counts_more.to_string(),
            ]
        })
        .collect();
    page.table(&columns, &rows);
    page.paragraph(&format!(
        "Keeps: share of the best yield. More: counts that are still needed to show a gap of {} %.",
        decimal(input.rulebook.numbers.stand_gap, 1)
    ));
    let of_zones = stands.iter().filter(|stand| stand.strip.is_none());
    let lines = of_zones.flat_map(|stand| {
        let rest = stand.sentences.iter().skip(2);
        rest.map(|line| (stand.zone, line.clone()))
    });
    shared(page, lines);
    let mut told: Vec<&str> = Vec::new();
    for keeps in stands.iter().flat_map(|stand| &stand.keeps) {
        if !told.contains(&keeps.table.as_str()) {
            told.push(&keeps.table);
            page.item(
                "Table: ",
                &format!("{}. Its limits: {}.", keeps.source, keeps.limits),
            );
        }
    }
}

fn emergence(page: &mut Page, input: &FollowInput) {
    let zones = &input.review.emergence;
    if zones.is_empty() {
        return;
    }
    page.chapter("Emergence");
    let columns = [
        Column::text("Zone, strip"),
        Column::number("Places", ""),
        Column::number("Days", ""),
        Column::number("90 %", "days"),
        Column::number("Degree days", "F"),
        Column::number("First to last", "F"),
        Column::text("Even"),
        Column::number("Late", "%"),
    ];
    let rows: Vec<Vec<String>> = zones
        .iter()
        .map(|zone| {
            vec![
                name(zone.zone, zone.strip.as_ref()),
                zone.places.to_string(),
                zone.days
                    .map_or_else(|| "-".to_owned(), |days| decimal(days, 1)),
                words::ends(zone.days_interval_90, 1),
                whole(zone.degree_days),
                whole(zone.first_to_last),
                zone.is_even
                    .map_or("not known", |even| if even { "yes" } else { "no" })
                    .to_owned(),
                whole(zone.late_share_pct),
            ]
        })
        .collect();
    page.table(&columns, &rows);
    let numbers = &input.rulebook.numbers;
    page.paragraph(&format!(
        "Corn takes {} to {} growing degree days (F) from planting to emergence; past {} one digs for the seed. {} and less from the first place to the last is even.",
        decimal(numbers.emergence_least, 0),
        decimal(numbers.emergence_most, 0),
        decimal(numbers.emergence_dig, 0),
        decimal(numbers.emergence_even, 0)
    ));
    let lines = zones.iter().filter(|zone| zone.strip.is_none());
    let lines = lines.flat_map(|zone| {
        let told = zone.beside_table.iter();
        told.map(|line| (zone.zone, line.clone()))
    });
    shared(page, lines);
}

fn brix(page: &mut Page, input: &FollowInput) {
    let brix = &input.review.brix;
    if brix.rounds.is_empty() {
        return;
    }
    page.chapter("Leaf-sap Brix");
    page.paragraph(NOTE);
    let floor = decimal(input.rulebook.numbers.brix_floor, 1);
    let columns = [
        Column::number("Zone", ""),
        Column::text("Part"),
        Column::text("Round"),
        Column::text("Hours"),
        Column::number("Plants", ""),
        Column::number("Mean", "%"),
        Column::number("90 %", "%"),
        Column::number("Under", &floor),
    ];
    let rows: Vec<Vec<String>> = brix
        .rounds
        .iter()
        .map(|round| {
            vec![
                round.zone.to_string(),
                round.part.clone(),
                round.round.clone(),
                round.hours_words(),
                round.plants.to_string(),
                fixed(round.mean, 1),
                words::ends(round.interval_90, 1),
                format!("{} %", decimal(round.under_floor_pct, 0)),
            ]
        })
        .collect();
    page.table(&columns, &rows);
    page.blank();
    shared(
        page,
        brix.trends
            .iter()
            .map(|trend| (trend.zone, trend.sentence.clone())),
    );
    let (told, others): (Vec<&BrixComparison>, Vec<&BrixComparison>) =
        (brix.comparisons.iter()).partition(|comparison| comparison.finding.is_told());
    told.iter()
        .for_each(|comparison| page.item("- ", &comparison.sentence));
    let others = others.len();
    if others > 0 {
        page.item(
            "- ",
            &format!("{others} pairs of zones of one round: no difference shown, or less than is worth a word."),
        );
    }
}

fn tissue(page: &mut Page, input: &FollowInput) {
    let leaves = &input.review.tissue;
    if leaves.is_empty() {
        return;
    }
    page.chapter("Leaves");
    let (held, bare): (Vec<&TissueResult>, Vec<&TissueResult>) =
        leaves.iter().partition(|leaf| leaf.limit_pct.is_some());
    let bare = bare.iter();
    shared(page, bare.map(|leaf| (leaf.zone, capital(&leaf.sentence))));
    let mut groups: Vec<_> = held
        .iter()
        .map(|leaf| (leaf.factor, leaf.part.as_str()))
        .collect();
    groups.sort_unstable();
    groups.dedup();
    for group in groups {
        let own: Vec<&TissueResult> = held
            .iter()
            .filter(|leaf| (leaf.factor, leaf.part.as_str()) == group)
            .copied()
            .collect();
        let Some(first) = own.first() else {
            continue;
        };
        let times = if first.unit == "ppm" { 10_000.0 } else { 1.0 };
        let values: Vec<String> = own.iter().map(|leaf| leaf_value(leaf, times)).collect();
        page.item(
            "- ",
            &format!(
                "{} in the {}, {}, limit {} ({}): {}",
                capital(first.factor.name()),
                first.part,
                first.unit,
                significant(first.limit_pct.unwrap_or_default() * times, 3),
                first.source,
                values.join("; ")
            ),
        );
    }
}

/// "zone 2 13.5, 2 samples of 28 May 2027 (90 %: 10.2 to 16.8), short".
fn leaf_value(leaf: &TissueResult, times: f64) -> String {
    let number = |percent: f64| significant(percent * times, 3);
    let range = leaf.interval_90.map_or_else(String::new, |(low, high)| {
        format!(" (90 %: {} to {})", number(low), number(high))
    });
    let verdict = match leaf.is_short {
        Some(true) => "short",
        Some(false) => "enough",
        None => "not decided",
    };
    let samples = if leaf.samples == 1 {
        "sample"
    } else {
        "samples"
    };
    let day = leaf
        .day
        .map_or_else(String::new, |day| format!(" of {}", day.show()));
    format!(
        "zone {} {}, {} {samples}{day}{range}, {verdict}",
        leaf.zone,
        number(leaf.content_pct),
        leaf.samples
    )
}

fn feeds(page: &mut Page, input: &FollowInput) {
    let plan = &input.review.foliar;
    page.chapter("Leaf feeds");
    if plan.feeds.is_empty() {
        let none = words::none_at_all(input);
        none.iter().for_each(|line| page.item("- ", line));
    }
    for feed in &plan.feeds {
        feed_text(page, input, feed);
    }
    plan.left_out
        .iter()
        .for_each(|line| page.item("Left out: ", line));
    plan.not_known
        .iter()
        .for_each(|line| page.item("Not known: ", line));
}

fn feed_text(page: &mut Page, input: &FollowInput, feed: &LeafFeed) {
    let units = input.facts.units;
    page.section(&format!("Feed {}: {}", feed.number, words::products(feed)));
    page.item("When:  ", &feed.when);
    page.item("Where: ", &zones_in_words(&feed.zones));
    page.item("Rate:  ", &words::feed_rate(feed, units));
    page.item("Salt:  ", &salt(feed));
    page.item("Cost:  ", &words::cost(input, feed));
    if let Some(before) = feed.repeats {
        page.item("Else:  ", &format!("as feed {before}."));
        return;
    }
    for product in &feed.products {
        product_text(page, product);
    }
    page.item("Strip: ", words::UNTREATED);
    words::mixing_notes(feed)
        .iter()
        .for_each(|note| page.item("Mix:   ", note));
}

fn product_text(page: &mut Page, product: &FeedProduct) {
    page.item(
        "How:   ",
        &format!(
            "{} ({}: {})",
            product.steps.join("; "),
            product.basis,
            product.source
        ),
    );
    if let Some(note) = &product.note {
        page.item("Cut:   ", note);
    }
    for why in &product.why {
        page.item("Why:   ", &why.line());
    }
    page.item("Found: ", &product.response);
}

fn not_fed(page: &mut Page, input: &FollowInput) {
    let plan = &input.review.foliar;
    if plan.not_fed.is_empty() {
        return;
    }
    page.chapter("Not fed, and why");
    let lines = plan.not_fed.iter().map(|not| {
        let factor = not
            .factor
            .map_or_else(String::new, |factor| format!("{}: ", factor.name()));
        (not.zone, format!("{factor}{}", not.why))
    });
    shared(page, lines);
}

fn files(page: &mut Page, input: &FollowInput) {
    page.chapter("What was read");
    for file in &input.files {
        let kinds: Vec<&str> = file.kinds.iter().map(|kind| kind.name()).collect();
        let columns: Vec<String> = file
            .columns
            .iter()
            .map(|column| {
                let unit = column
                    .unit
                    .as_ref()
                    .map_or_else(String::new, |unit| format!(", {}", words::unit(unit)));
                format!(
                    "\"{}\" is {}{unit}",
                    column.name,
                    column.role.name().replace('_', " ")
                )
            })
            .collect();
        let unused = if file.unused.is_empty() {
            String::new()
        } else {
            format!("; not used: {}", file.unused.join(", "))
        };
        page.item(
            "- ",
            &format!(
                "{}, {} rows of {}: {}{unused}",
                file.file,
                file.rows,
                kinds.join(" and "),
                columns.join("; ")
            ),
        );
    }
}

fn cautions(page: &mut Page, input: &FollowInput) {
    page.chapter("Cautions");
    let told = words::cautions(input, &input.review.foliar.feeds);
    let all = told.into_iter().chain([ALWAYS]);
    all.for_each(|caution| page.item("- ", caution));
}

/// A few lines for the terminal.
pub(super) fn summary(input: &FollowInput) -> Vec<String> {
    let review = &input.review;
    let mut lines: Vec<String> = Vec::new();
    for stand in review.stands.iter().filter(|stand| stand.strip.is_none()) {
        let first = stand.sentences.first().map_or("", String::as_str);
        lines.push(format!("  Zone {}  stand {first}", stand.zone));
    }
    for round in &review.brix.rounds {
        lines.push(format!(
            "  Zone {}  Brix, round {}: {}",
            round.zone, round.round, round.sentence
        ));
    }
    if review.foliar.feeds.is_empty() {
        let none = words::none_at_all(input);
        lines.extend(none.iter().map(|line| format!("  {line}")));
    }
    for feed in &review.foliar.feeds {
        lines.push(format!(
            "  Feed {}  {} in {}: {}",
            feed.number,
            words::feed_rate(feed, input.facts.units),
            zones_in_words(&feed.zones),
            feed.when
        ));
    }
    lines
}
