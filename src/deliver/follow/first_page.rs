//! The first sheet, as the plan's: what to do where, what to test, what it costs.

use super::FollowInput;
use super::words;
use crate::deliver::mix::sheet_lines::cost;
use crate::deliver::numbers::{grouped, zones_in_words};
use crate::deliver::overview::Overview;
use crate::deliver::review::{
    BuyLine, FirstSheet, Money, RemarkFacts, TestLine, Treatment, remark_facts, usd,
};
use crate::remark::{Level, Remark};
use crate::rulebook::PriceSource;
use crate::season::{BRIX_NOTE, BrixRound, LeafFeed};
use crate::text::capital;
use crate::units::{decimal, fixed};

/// Most lines on what to measure first.
const MOST_TESTS: usize = 4;

/// The sheet's facts.
pub(super) fn sheet(input: &FollowInput, overview: &Overview<'_>) -> FirstSheet {
    let looks: Vec<&Remark> = input
        .remarks
        .iter()
        .filter(|remark| remark.level == Level::Warning)
        .collect();
    let looks: Vec<RemarkFacts> = remark_facts(&looks);
    let mut sheet = FirstSheet::new(overview, &looks);
    sheet.about.push("in season".to_owned());
    sheet.tests = tests(input);
    sheet.worth = Vec::new();
    sheet.readings = readings(input);
    sheet.checks = checks(input);
    sheet.buy = buy(input);
    sheet.money = money(input);
    sheet.passes = words::feed_lines(input);
    passes_first(&mut sheet, input);
    for row in &mut sheet.table.rows {
        let own = input.review.foliar.feeds.iter();
        let own = own.filter(|feed| feed.zones.contains(&row.zone));
        let numbers: Vec<usize> = own.map(|feed| feed.number).collect();
        if !numbers.is_empty() {
            row.order = capital(&words::feed_numbers(&numbers));
        }
    }
    sheet
}

/// What is to be done stands before what is not: letters and rows follow.
fn passes_first(sheet: &mut FirstSheet, input: &FollowInput) {
    let letters: Vec<String> = sheet.treatments.iter().map(|t| t.letter.clone()).collect();
    let mut order: Vec<usize> = (0..letters.len()).collect();
    let is_fed = |place: &usize| {
        let zone = sheet.table.rows.get(*place).map(|row| row.zone);
        let mut feeds = input.review.foliar.feeds.iter();
        feeds.any(|feed| zone.is_some_and(|zone| feed.zones.contains(&zone)))
    };
    order.sort_by_key(|&at| !sheet.treatments[at].zones.iter().any(is_fed));
    for row in &mut sheet.table.rows {
        let new = order.iter().position(|&old| old == row.treatment);
        row.treatment = new.unwrap_or(row.treatment);
    }
    sheet.treatments = order
        .iter()
        .zip(letters)
        .map(|(&old, letter)| Treatment {
            letter,
            ..sheet.treatments[old].clone()
        })
        .collect();
}

/// What to measure first: what the leaf feeds wait for, and zones with too few counts.
fn tests(input: &FollowInput) -> Vec<TestLine> {
    let mut lines = input.review.foliar.not_known.clone();
    let few: Vec<String> = input
        .review
        .stands
        .iter()
        .filter(|stand| stand.strip.is_none() && stand.counts_more > 0)
        .map(|stand| format!("{} more in zone {}", stand.counts_more, stand.zone))
        .collect();
    if !few.is_empty() {
        lines.insert(
            0,
            format!(
                "Stand counts that show a gap of {} %: {}",
                decimal(input.rulebook.numbers.stand_gap, 1),
                few.join(", ")
            ),
        );
    }
    let more = lines.len().saturating_sub(MOST_TESTS);
    lines.truncate(MOST_TESTS);
    if more > 0 {
        lines.push(format!("{more} more below"));
    }
    lines.into_iter().map(TestLine::bare).collect()
}

/// Stand and Brix in a line each.
fn readings(input: &FollowInput) -> Vec<String> {
    let mut lines = Vec::new();
    let stands: Vec<String> = input
        .review
        .stands
        .iter()
        .filter(|stand| stand.strip.is_none())
        .map(|stand| match stand.share_pct {
            Some(share) => format!("zone {} {} %", stand.zone, decimal(share, 0)),
            None => format!(
                "zone {} {}",
                stand.zone,
                words::plants(stand.plants_per_acre, input.facts.units)
            ),
        })
        .collect();
    let has_target = input
        .review
        .stands
        .iter()
        .any(|stand| stand.share_pct.is_some());
    if !stands.is_empty() {
        let of = if has_target {
            "of the target"
        } else {
            words::plants_unit(input.facts.units).1
        };
        lines.push(format!("Stand, {of}: {}", stands.join(", ")));
    }
    let floor = input.rulebook.numbers.brix_floor;
    let last: Vec<&BrixRound> = last_rounds(input);
    if !last.is_empty() {
        let means = || last.iter().map(|round| round.mean);
        let shares = || last.iter().map(|round| round.under_floor_pct);
        lines.push(format!(
            "Brix, last round, by zone: {}, {} % of plants under {}; a record, disputed, no rate follows from it",
            span(means(), 1),
            span(shares(), 0),
            decimal(floor, 1)
        ));
    }
    lines
}

/// "6.9 to 8.4"; one number where all are alike.
fn span(values: impl Iterator<Item = f64>, decimals: usize) -> String {
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
        (low.min(value), high.max(value))
    });
    let (low, high) = (fixed(low, decimals), fixed(high, decimals));
    if low == high {
        low
    } else {
        format!("{low} to {high}")
    }
}

/// The last round of each zone.
fn last_rounds(input: &FollowInput) -> Vec<&BrixRound> {
    let rounds = &input.review.brix.rounds;
    let mut last: Vec<&BrixRound> = Vec::new();
    for round in rounds {
        match last.iter_mut().find(|known| known.zone == round.zone) {
            Some(known) if known.part == round.part => *known = round,
            Some(_) => {}
            None => last.push(round),
        }
    }
    last
}

fn checks(input: &FollowInput) -> Vec<String> {
    let plan = &input.review.foliar;
    let mut lines = Vec::new();
    if !plan.feeds.is_empty() {
        lines.push(words::UNTREATED.trim_end_matches('.').to_owned());
    }
    let offered: Vec<u32> = plan
        .not_fed
        .iter()
        .filter(|not| not.strip.is_some())
        .map(|not| not.zone)
        .collect();
    let mut zones = offered.clone();
    zones.dedup();
    if !zones.is_empty() {
        lines.push(format!(
            "Offered where carbon closes the gate: a strip with a leaf feed in {}",
            zones_in_words(&zones)
        ));
    }
    lines
}

fn buy(input: &FollowInput) -> Vec<BuyLine> {
    let units = input.facts.units;
    let mut totals: Vec<(&str, f64, Option<f64>, PriceSource)> = Vec::new();
    for feed in &input.review.foliar.feeds {
        for product in &feed.products {
            let cost = product
                .cost_usd_ha
                .map(|cost| cost * feed.area_m2 / 10_000.0);
            match totals
                .iter_mut()
                .find(|(label, ..)| *label == product.label)
            {
                Some((_, kilograms, dollars, _)) => {
                    *kilograms += product.total_kg;
                    *dollars = dollars.zip(cost).map(|(a, b)| a + b);
                }
                None => totals.push((&product.label, product.total_kg, cost, product.price_source)),
            }
        }
    }
    let line = |(label, kilograms, dollars, source): &(&str, f64, Option<f64>, PriceSource)| {
        let mass = crate::units::Mass::from_kilograms(*kilograms);
        BuyLine {
            amount: format!(
                "{} {} {label}, all feeds: {}",
                grouped(mass.number_in(units), 1),
                crate::units::Mass::unit_in(units),
                cost(usd(*dollars), *source)
            ),
            packs_cost: None,
        }
    };
    totals.iter().map(line).collect()
}

/// What all feeds cost, those that wait for signs included.
fn money(input: &FollowInput) -> Money {
    let feeds = input.review.foliar.feeds.iter();
    let dollars: f64 = feeds.filter_map(|feed: &LeafFeed| feed.cost_usd).sum();
    let pass = words::pass_cost(input).dollars_per_hectare();
    let feeds = input.review.foliar.feeds.iter();
    let work: f64 = feeds.map(|feed| pass * feed.area_m2 / 10_000.0).sum();
    let guessed_work = if words::is_pass_guessed(input) {
        work
    } else {
        0.0
    };
    let guessed = guessed_products(input) + guessed_work;
    Money {
        products: dollars.round() as i64,
        work: work.round() as i64,
        guessed: guessed.round() as i64,
        on_hand: 0,
        packs_more: 0,
        budget: None,
        is_share: false,
    }
}

/// What of the products is at prices that nobody gave, United States dollars.
fn guessed_products(input: &FollowInput) -> f64 {
    let feeds = input.review.foliar.feeds.iter();
    let of_feed = |feed: &LeafFeed| -> f64 {
        let products = feed.products.iter();
        let guessed = products.filter(|product| product.price_source == PriceSource::BuiltIn);
        guessed
            .filter_map(|product| product.cost_usd_ha)
            .sum::<f64>()
            * feed.area_m2
            / 10_000.0
    };
    feeds.map(of_feed).sum()
}

/// Said beside every Brix.
pub(super) const NOTE: &str = BRIX_NOTE;
