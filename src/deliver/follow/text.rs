//! `follow.txt`: the first sheet, then stand, emergence, Brix, leaves and feeds zone by zone.

use super::FollowInput;
use super::first_page::NOTE;
use super::tank::salt;
use super::words;
use crate::deliver::output_file::OutputFile;
use crate::deliver::report_text::push_first_sheet;
use crate::deliver::review::{ALWAYS, FirstSheet};
use crate::remark::Level;
use crate::season::{FeedProduct, LeafFeed};
use crate::text::{Page, capital};

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
    remarks(&mut page, input);
    cautions(&mut page, input);
    OutputFile::new("follow.txt", page.finish())
}

/// "Zone 3  ", "Zone 3, no starter 1  ".
pub(super) fn lead(zone: u32, strip: Option<&String>) -> String {
    match strip {
        Some(strip) => format!("Zone {zone}, {strip}  "),
        None => format!("Zone {zone}  "),
    }
}

fn stands(page: &mut Page, input: &FollowInput) {
    let stands = &input.review.stands;
    if stands.is_empty() {
        return;
    }
    page.chapter("Stand");
    for stand in stands {
        page.item(
            &lead(stand.zone, stand.strip.as_ref()),
            &stand.sentences.join(" "),
        );
    }
    let mut told: Vec<&str> = Vec::new();
    for keeps in stands.iter().flat_map(|stand| &stand.keeps) {
        if !told.contains(&keeps.table.as_str()) {
            told.push(&keeps.table);
            page.item(
                "Table: ",
                &format!("{}. It holds where: {}.", keeps.source, keeps.limits),
            );
        }
    }
}

fn emergence(page: &mut Page, input: &FollowInput) {
    if input.review.emergence.is_empty() {
        return;
    }
    page.chapter("Emergence");
    for zone in &input.review.emergence {
        page.item(
            &lead(zone.zone, zone.strip.as_ref()),
            &zone.sentences.join(" "),
        );
    }
}

fn brix(page: &mut Page, input: &FollowInput) {
    let brix = &input.review.brix;
    if brix.rounds.is_empty() {
        return;
    }
    page.chapter("Leaf-sap Brix");
    page.paragraph(NOTE);
    for round in &brix.rounds {
        let part = if round.part.is_empty() {
            String::new()
        } else {
            format!(", {}", round.part)
        };
        let lead = format!("Zone {}, round {}{part}: ", round.zone, round.round);
        page.item("- ", &format!("{lead}{}", round.sentence));
    }
    for trend in &brix.trends {
        let part = if trend.part.is_empty() {
            String::new()
        } else {
            format!(", {}", trend.part)
        };
        page.item(
            "- ",
            &format!(
                "Zone {}{part}, over the rounds: {}",
                trend.zone, trend.sentence
            ),
        );
    }
    brix.comparisons
        .iter()
        .for_each(|line| page.item("- ", line));
}

fn tissue(page: &mut Page, input: &FollowInput) {
    if input.review.tissue.is_empty() {
        return;
    }
    page.chapter("Leaves");
    for leaf in &input.review.tissue {
        page.item(&lead(leaf.zone, None), &capital(&leaf.sentence));
    }
}

fn feeds(page: &mut Page, input: &FollowInput) {
    let plan = &input.review.foliar;
    page.chapter("Leaf feeds");
    if plan.feeds.is_empty() {
        page.paragraph(
            "None: nothing that the leaf could fill is measured short where a feed could help.",
        );
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
    page.item("Where: ", &words::zones(&feed.zones));
    page.item("Rate:  ", &words::feed_rate(feed, units));
    page.item("Salt:  ", &salt(feed));
    page.item("Cost:  ", &words::cost(feed, units));
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
    product.why.iter().for_each(|why| page.item("Why:   ", why));
    page.item("Found: ", &product.response);
}

fn not_fed(page: &mut Page, input: &FollowInput) {
    let plan = &input.review.foliar;
    if plan.not_fed.is_empty() {
        return;
    }
    page.chapter("Not fed, and why");
    for not in &plan.not_fed {
        page.item(&lead(not.zone, None), &not.why);
    }
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
                    .map_or_else(String::new, |unit| format!(", {unit}"));
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

fn remarks(page: &mut Page, input: &FollowInput) {
    if input.remarks.is_empty() {
        return;
    }
    page.chapter("Remarks");
    for level in [Level::Warning, Level::Assumption, Level::Info] {
        for remark in input.remarks.iter().filter(|remark| remark.level == level) {
            page.item(&format!("{:<8} ", level.name()), &capital(&remark.what));
            if let Some(help) = &remark.help {
                page.item("         -> ", &capital(help));
            }
        }
    }
}

fn cautions(page: &mut Page, input: &FollowInput) {
    page.chapter("Cautions");
    let own = input
        .review
        .foliar
        .feeds
        .iter()
        .flat_map(|feed| &feed.products);
    let own = own.flat_map(|product| &product.cautions);
    let mut told: Vec<&str> = Vec::new();
    let all = input.review.foliar.cautions.iter().chain(own);
    for caution in all.map(String::as_str).chain([ALWAYS]) {
        if !told.contains(&caution) {
            page.item("- ", caution);
            told.push(caution);
        }
    }
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
        lines.push("  No leaf feed: nothing that the leaf could fill is measured short where a feed could help".to_owned());
    }
    for feed in &review.foliar.feeds {
        lines.push(format!(
            "  Feed {}  {} in {}: {}",
            feed.number,
            words::feed_rate(feed, input.facts.units),
            words::zones(&feed.zones),
            feed.when
        ));
    }
    lines
}
