//! `follow.html`: the first sheet as the plan's, and below it, folded, all readings and feeds. One file that needs no network.

use maud::{Markup, html};

use super::FollowInput;
use super::first_page::NOTE;
use super::pictures;
use super::tank::salt;
use super::words;
use crate::deliver::numbers::zones_in_words;
use crate::deliver::output_file::OutputFile;
use crate::deliver::overview::Overview;
use crate::deliver::report_html::{document, first_sheet, plain, table};
use crate::deliver::review::{ALWAYS, FirstSheet};
use crate::season::{BrixRound, LeafFeed};
use crate::text::capital;
use crate::units::decimal;

/// The file.
pub(super) fn file(input: &FollowInput, overview: &Overview<'_>, sheet: &FirstSheet) -> OutputFile {
    let title = format!("{}: the season {}", input.facts.field, input.facts.season);
    let markup = document(overview, &title, |frame| {
        html! {
            (first_sheet(overview, sheet, &[], frame))
            div.more {
                p.fold-all { button type="button" #unfold { "Open everything, for reading or printing" } }
                (chapters(input))
            }
        }
    });
    OutputFile::new("follow.html", markup.into_string() + "\n")
}

fn chapter(id: &str, title: &str, body: &Markup) -> Markup {
    html! {
        details.chapter id=(id) {
            summary { h2 { (title) } }
            (body)
        }
    }
}

fn chapters(input: &FollowInput) -> Markup {
    let review = &input.review;
    html! {
        (chapter("zones", "Each zone", &zones(input)))
        @if !review.stands.is_empty() { (chapter("stand", "Stand", &stand(input))) }
        @if !review.emergence.is_empty() { (chapter("emergence", "Emergence", &emergence(input))) }
        @if !review.brix.rounds.is_empty() { (chapter("brix", "Leaf-sap Brix", &brix(input))) }
        @if !review.tissue.is_empty() { (chapter("leaves", "Leaves", &tissue(input))) }
        (chapter("feeds", "Leaf feeds", &feeds(input)))
        (chapter("cautions", "Cautions", &cautions(input)))
        @if !input.remarks.is_empty() { (chapter("remarks", "Remarks", &remarks(input))) }
        (chapter("files", "What was read", &files(input)))
    }
}

/// Every zone with all that is said of it.
fn zones(input: &FollowInput) -> Markup {
    let review = &input.review;
    html! {
        @for record in &input.ground.records {
            @let zone = record.number;
            details.zone-fold id={ "zone-" (zone) } {
                summary { h3 { "Zone " (zone) } }
                p.reason { (plain(&words::zone_order(input, &review.foliar.feeds, zone))) "." }
                @for stand in review.stands.iter().filter(|stand| stand.zone == zone) {
                    p { b { "Stand" @if let Some(strip) = &stand.strip { ", " (plain(strip)) } ": " } (plain(&stand.sentences.join(" "))) }
                }
                @for place in review.emergence.iter().filter(|place| place.zone == zone) {
                    p { b { "Emergence" @if let Some(strip) = &place.strip { ", " (plain(strip)) } ": " } (plain(&place.sentences.join(" "))) }
                }
                @for round in review.brix.rounds.iter().filter(|round| round.zone == zone) {
                    p { b { "Brix, round " (plain(&round.round)) ": " } (plain(&round.sentence)) }
                }
                @for trend in review.brix.trends.iter().filter(|trend| trend.zone == zone) {
                    p { b { "Brix over the rounds: " } (plain(&trend.sentence)) }
                }
                @for leaf in review.tissue.iter().filter(|leaf| leaf.zone == zone) {
                    p { b { "Leaves: " } (plain(&capital(&leaf.sentence))) }
                }
                @for feed in review.foliar.feeds.iter().filter(|feed| feed.zones.contains(&zone)) {
                    p { b { "Feed " (feed.number) ": " } (plain(&words::feed_rate(feed, input.facts.units))) ". " (plain(&feed.when)) ". " (plain(&words::responses(feed))) }
                }
                @for not in words::not_fed(input, zone) {
                    p { b { "Not fed: " } (plain(&words::not_fed_line(not))) }
                }
            }
        }
    }
}

fn of(zone: u32, strip: Option<&String>) -> String {
    strip.map_or_else(|| zone.to_string(), |strip| format!("{zone}, {strip}"))
}

fn stand(input: &FollowInput) -> Markup {
    let stands = &input.review.stands;
    let units = input.facts.units;
    let hundred = |plants: f64| words::plants(plants, units);
    let rows: Vec<Vec<String>> = stands
        .iter()
        .map(|stand| {
            vec![
                of(stand.zone, stand.strip.as_ref()),
                stand.places.to_string(),
                hundred(stand.plants_per_acre),
                words::ends_of_plants(stand.interval_90, units),
                stand
                    .share_pct
                    .map_or_else(|| "-".to_owned(), |share| decimal(share, 0)),
                stand.counts_more.to_string(),
            ]
        })
        .collect();
    let plants_head = match units {
        crate::units::UnitSystem::UnitedStates => "#Plants/ac",
        crate::units::UnitSystem::Metric => "#Plants/ha",
    };
    let heads = [
        "Zone, strip",
        "#Places",
        plants_head,
        "#90 %",
        "#% of target",
        "#More counts",
    ];
    html! {
        (table("Stand by zone and strip", &heads, &rows))
        figure { (pictures::stands(input)) }
        @for stand in stands {
            p { b { "Zone " (plain(&of(stand.zone, stand.strip.as_ref()))) ": " } (plain(&stand.sentences.join(" "))) }
        }
        @for line in tables(input) { p.small { (plain(&line)) } }
    }
}

/// The stand tables with their limits, each once.
fn tables(input: &FollowInput) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for keeps in input.review.stands.iter().flat_map(|stand| &stand.keeps) {
        let line = format!("Table: {}. It holds where: {}.", keeps.source, keeps.limits);
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines
}

fn emergence(input: &FollowInput) -> Markup {
    let number = |value: Option<f64>, decimals| {
        value.map_or_else(|| "not known".to_owned(), |value| decimal(value, decimals))
    };
    let rows: Vec<Vec<String>> = input
        .review
        .emergence
        .iter()
        .map(|zone| {
            vec![
                of(zone.zone, zone.strip.as_ref()),
                zone.places.to_string(),
                number(zone.days, 1),
                words::ends(zone.days_interval_90, 1),
                number(zone.degree_days, 0),
                number(zone.first_to_last, 0),
                number(zone.late_share_pct, 0),
            ]
        })
        .collect();
    let heads = [
        "Zone, strip",
        "#Places",
        "#Days",
        "#90 %",
        "#Degree days (F)",
        "#First to last",
        "#% late",
    ];
    html! {
        (table("Emergence by zone and strip", &heads, &rows))
        @for zone in &input.review.emergence {
            p { b { "Zone " (plain(&of(zone.zone, zone.strip.as_ref()))) ": " } (plain(&zone.sentences.join(" "))) }
        }
    }
}

fn brix(input: &FollowInput) -> Markup {
    let brix = &input.review.brix;
    let mut keys: Vec<(u32, &str)> = brix
        .rounds
        .iter()
        .map(|round| (round.zone, round.part.as_str()))
        .collect();
    keys.dedup();
    html! {
        p.caution { (NOTE) }
        div.gallery.small-charts {
            @for (zone, part) in keys {
                @let rounds: Vec<&BrixRound> = brix.rounds.iter().filter(|round| round.zone == zone && round.part == part).collect();
                figure {
                    figcaption { "Zone " (zone) @if !part.is_empty() { ", " (plain(part)) } }
                    (pictures::brix(input, &rounds))
                }
            }
        }
        @for round in &brix.rounds {
            p { b { "Zone " (round.zone) ", round " (plain(&round.round)) @if !round.part.is_empty() { ", " (plain(&round.part)) } ": " } (plain(&round.sentence)) }
        }
        @for trend in &brix.trends {
            p { b { "Zone " (trend.zone) ", over the rounds: " } (plain(&trend.sentence)) }
        }
        ul { @for line in &brix.comparisons { li { (plain(&line.sentence)) } } }
    }
}

fn tissue(input: &FollowInput) -> Markup {
    html! {
        ul { @for leaf in &input.review.tissue { li { "Zone " (leaf.zone) ": " (plain(&capital(&leaf.sentence))) } } }
    }
}

fn feeds(input: &FollowInput) -> Markup {
    let plan = &input.review.foliar;
    html! {
        @if plan.feeds.is_empty() {
            ul { @for line in words::none_at_all(input) { li { (plain(&line)) } } }
        }
        @for feed in &plan.feeds { (one_feed(input, feed)) }
        @for line in &plan.left_out { p { b { "Left out: " } (plain(line)) } }
        @for line in &plan.not_known { p { b { "Not known: " } (plain(line)) } }
        @for not in &plan.not_fed { p { b { "Zone " (not.zone) ", not fed: " } (plain(&words::not_fed_line(not))) } }
    }
}

fn one_feed(input: &FollowInput, feed: &LeafFeed) -> Markup {
    let units = input.facts.units;
    html! {
        section {
            h3 { "Feed " (feed.number) ": " (plain(&words::products(feed))) }
            dl.facts {
                div { dt { "When" } dd { (plain(&feed.when)) } }
                div { dt { "Where" } dd { (zones_in_words(&feed.zones)) } }
                div { dt { "Rate" } dd { (plain(&words::feed_rate(feed, units))) } }
                div { dt { "Salt" } dd { (plain(&salt(feed))) } }
                div { dt { "Cost" } dd { (words::cost(input, feed)) } }
            }
            @for product in &feed.products {
                p { b { "How: " } (plain(&product.steps.join("; "))) " (" (product.basis) ": " (plain(&product.source)) ")" }
                @if let Some(note) = &product.note { p { b { "Cut: " } (plain(note)) } }
                @for why in &product.why { p { b { "Why: " } (plain(&why.line())) } }
                p.caution { b { "What research found: " } (plain(&product.response)) }
            }
            p { (words::UNTREATED) }
            ul { @for note in words::mixing_notes(feed) { li { (plain(&note)) } } }
            p.small { "Map: foliar-" (feed.number) ".geojson; tank: foliar-" (feed.number) "-mix.txt; controller: controller/foliar-" (feed.number) "." }
        }
    }
}

fn cautions(input: &FollowInput) -> Markup {
    let told = words::cautions(input, &input.review.foliar.feeds);
    let told = told.into_iter().chain([ALWAYS]);
    html! { div.caution { ul { @for caution in told { li { (plain(caution)) } } } } }
}

fn remarks(input: &FollowInput) -> Markup {
    html! {
        ul.remarks {
            @for remark in &input.remarks { li class=(remark.level.name()) {
                b { (remark.level.name()) }
                div {
                    p { (plain(&capital(&remark.what))) }
                    @if let Some(help) = &remark.help { p.out { "\u{2192} " (plain(&capital(help))) } }
                }
            } }
        }
    }
}

fn files(input: &FollowInput) -> Markup {
    html! {
        ul {
            @for file in &input.files {
                li {
                    (plain(&file.file)) ", " (file.rows) " rows: "
                    @for (at, column) in file.columns.iter().enumerate() {
                        @if at > 0 { "; " }
                        "\u{201c}" (plain(&column.name)) "\u{201d} is " (column.role.name().replace('_', " "))
                        @if let Some(unit) = &column.unit { ", " (plain(&words::unit(unit))) }
                    }
                    @if !file.unused.is_empty() { "; not used: " (plain(&file.unused.join(", "))) }
                }
            }
        }
    }
}
