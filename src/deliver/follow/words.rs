//! Leaf feeds in words: what text, page, map and mix sheet say alike.

use super::FollowInput;
use crate::deliver::numbers::{grouped, zones_in_words};
use crate::rulebook::{FixRule, PriceSource};
use crate::season::{FeedProduct, LeafFeed, NotFed, Unfed};
use crate::text::capital;
use crate::units::{MoneyPerArea, UnitSystem, fixed};

/// Said of every feed.
pub(super) const UNTREATED: &str = "Leave one pass in each zone without it and harvest it by itself: what a leaf feed does here is not known before.";

/// The rulebook's entry that says what a pass over the leaves costs without its products.
const PASS: &str = "foliar_trace";

/// What a pass costs without its products.
pub(super) fn pass_cost(input: &FollowInput) -> MoneyPerArea {
    pass(input).map_or(MoneyPerArea::ZERO, |pass| pass.cost)
}

/// Whether that cost is the program's own guess.
pub(super) fn is_pass_guessed(input: &FollowInput) -> bool {
    pass(input).is_some_and(|pass| pass.cost_source == PriceSource::BuiltIn)
}

fn pass(input: &FollowInput) -> Option<&FixRule> {
    let mut fixes = input.rulebook.fixes.iter();
    fixes.find(|fix| fix.name == PASS)
}

/// "zinc sulfate with Epsom salt".
pub(super) fn products(feed: &LeafFeed) -> String {
    let names: Vec<&str> = feed
        .products
        .iter()
        .map(|product| product.label.as_str())
        .collect();
    names.join(" with ")
}

/// "leaf feed 1: zinc sulfate".
pub(super) fn feed_label(feed: &LeafFeed) -> String {
    format!("leaf feed {}: {}", feed.number, products(feed))
}

/// "zinc sulfate 0.7 lb/ac".
pub(super) fn product_rate(product: &FeedProduct, units: UnitSystem) -> String {
    format!("{} {}", product.label, product.amount.show_small(units))
}

/// "zinc sulfate 0.7 lb/ac in 20 gal/ac".
pub(super) fn feed_rate(feed: &LeafFeed, units: UnitSystem) -> String {
    let products: Vec<String> = feed
        .products
        .iter()
        .map(|product| product_rate(product, units))
        .collect();
    format!(
        "{} in {}",
        products.join(" with "),
        feed.spray.show(units, 1)
    )
}

/// Cost of products and pass per area, and over the zones, with units.
pub(super) fn cost(input: &FollowInput, feed: &LeafFeed) -> String {
    let units = input.facts.units;
    let unit = MoneyPerArea::unit_in(units);
    let show = |cost: MoneyPerArea| format!("{} {unit}", grouped(cost.number_in(units), 2));
    let pass = pass_cost(input);
    let Some(per_hectare) = feed.cost_usd_ha else {
        return format!("no price for all products; the pass {}", show(pass));
    };
    let products = MoneyPerArea::from_dollars_per_hectare(per_hectare);
    let total = (products + pass).dollars_per_hectare() * feed.area_m2 / 10_000.0;
    format!(
        "products {}, the pass {}; {} USD over its zones",
        show(products),
        show(pass),
        grouped(total, 0)
    )
}

/// The order of addition and what goes with it.
pub(super) fn mixing_notes(feed: &LeafFeed) -> Vec<String> {
    let order: Vec<&str> = feed
        .products
        .iter()
        .map(|product| product.label.as_str())
        .collect();
    vec![
        format!(
            "Half the water first, agitation on; then, each fully dissolved before the next: {}; then the rest of the water.",
            order.join(", then ")
        ),
        "Jar test: one quart at these proportions, 30 minutes and overnight, before the tank is filled.".to_owned(),
    ]
}

/// What research found of all products of a feed.
pub(super) fn responses(feed: &LeafFeed) -> String {
    let mut texts: Vec<&str> = Vec::new();
    for product in &feed.products {
        if !texts.contains(&product.response.as_str()) {
            texts.push(&product.response);
        }
    }
    texts.join(" ")
}

/// What a zone gets, each feed named with its own products.
pub(super) fn zone_order(input: &FollowInput, feeds: &[LeafFeed], zone: u32) -> String {
    let of_zone = |feeds: &[LeafFeed]| -> Vec<usize> {
        let own = feeds.iter().filter(|feed| feed.zones.contains(&zone));
        own.map(|feed| feed.number).collect()
    };
    if let [feed] = feeds {
        return order_of_one(input, feed, zone, &of_zone(&input.review.foliar.feeds));
    }
    let own: Vec<&LeafFeed> = feeds
        .iter()
        .filter(|feed| feed.zones.contains(&zone))
        .collect();
    if own.is_empty() {
        return no_feed(input, zone);
    }
    let is_repeat = |feed: &LeafFeed| own.iter().any(|first| feed.repeats == Some(first.number));
    let firsts = own.iter().filter(|feed| !is_repeat(feed));
    let named: Vec<String> = firsts.map(|first| with_repeats(first, &own)).collect();
    format!("Leaf {}", named.join("; "))
}

/// "feed 1: zinc sulfate"; with the feeds that repeat it "feeds 1 and 3: zinc sulfate".
fn with_repeats(first: &LeafFeed, own: &[&LeafFeed]) -> String {
    let repeats = own.iter().filter(|feed| feed.repeats == Some(first.number));
    let numbers: Vec<String> = std::iter::once(first.number)
        .chain(repeats.map(|feed| feed.number))
        .map(|number| number.to_string())
        .collect();
    let word = if numbers.len() == 1 { "feed" } else { "feeds" };
    format!("{word} {}: {}", numbers.join(" and "), products(first))
}

/// What a zone gets of one feed; `all` are the numbers of its feeds.
fn order_of_one(input: &FollowInput, feed: &LeafFeed, zone: u32, all: &[usize]) -> String {
    if feed.zones.contains(&zone) {
        let rate = feed_rate(feed, input.facts.units);
        return format!(
            "Leaf feed {}: {rate}, {}",
            feed.number,
            lower_first(&feed.when)
        );
    }
    if all.is_empty() {
        return no_feed(input, zone);
    }
    format!(
        "Nothing of leaf feed {}: this zone gets {}",
        feed.number,
        feed_numbers(all)
    )
}

/// "leaf feed 1", "leaf feeds 1, 2".
pub(super) fn feed_numbers(numbers: &[usize]) -> String {
    let names: Vec<String> = numbers.iter().map(usize::to_string).collect();
    let word = if names.len() == 1 { "feed" } else { "feeds" };
    format!("leaf {word} {}", names.join(", "))
}

/// Why a zone gets no feed: what stands before all else first.
fn no_feed(input: &FollowInput, zone: u32) -> String {
    let not: Vec<&NotFed> = not_fed(input, zone);
    let is = |cause: Unfed| not.iter().any(|not| not.cause == cause);
    let mut records = input.ground.records.iter();
    let record = records.find(|record| record.number == zone);
    let is_closed = record.is_some_and(|record| record.carbon_gate.is_some());
    let is_salty = record.is_some_and(|record| record.salt_gate.is_some());
    let why = if is(Unfed::Salt) || (is_salty && is_closed) {
        "salt in the soil comes first".to_owned()
    } else if is_closed {
        "carbon comes first; a check strip is offered".to_owned()
    } else if is(Unfed::Water) {
        too_little_water(input)
    } else if is(Unfed::TooLate) {
        "too late this season for what the leaves showed; act next year".to_owned()
    } else if is(Unfed::LeftOut) {
        "the season takes no more feeds".to_owned()
    } else if is(Unfed::Capped) {
        "a cap leaves nothing of it".to_owned()
    } else if is(Unfed::NotThroughLeaf) {
        "what is short here the leaf does not take".to_owned()
    } else {
        "nothing that it could fill is measured short".to_owned()
    };
    format!("No leaf feed: {why}")
}

/// "9 gal/ac of water is less than the 10 gal/ac under which no salt goes on a leaf".
fn too_little_water(input: &FollowInput) -> String {
    let units = input.facts.units;
    let least = input.rulebook.numbers.leaf_water_least.show(units, 1);
    let water = input.settings.water.map_or_else(
        || "the water".to_owned(),
        |water| format!("{} of water", water.show(units, 1)),
    );
    format!("{water} is less than the {least} under which no salt goes on a leaf")
}

/// Said where the season has no feed at all: each reason with its zones.
pub(super) fn none_at_all(input: &FollowInput) -> Vec<String> {
    let mut told: Vec<(String, Vec<u32>)> = Vec::new();
    for zone in input.ground.records.iter().map(|record| record.number) {
        let why = no_feed(input, zone);
        match told.iter_mut().find(|(known, _)| *known == why) {
            Some((_, zones)) => zones.push(zone),
            None => told.push((why, vec![zone])),
        }
    }
    let line =
        |(why, numbers): &(String, Vec<u32>)| format!("{why} ({}).", zones_in_words(numbers));
    told.iter().map(line).collect()
}

/// A line a feed, for the first sheet.
pub(super) fn feed_lines(input: &FollowInput) -> Vec<String> {
    let line = |feed: &LeafFeed| {
        let what = match feed.repeats {
            Some(first) => format!("as feed {first}"),
            None => feed_rate(feed, input.facts.units),
        };
        let when = lower_first(&feed.when);
        format!(
            "Feed {}: {what}, {}; {when}",
            feed.number,
            zones_in_words(&feed.zones)
        )
    };
    input.review.foliar.feeds.iter().map(line).collect()
}

/// Cautions of all feeds and of some products, each once; one that says no more than another is left out.
pub(super) fn cautions<'a>(
    input: &'a FollowInput,
    feeds: impl IntoIterator<Item = &'a LeafFeed>,
) -> Vec<&'a str> {
    let products = feeds.into_iter().flat_map(|feed| &feed.products);
    let own = products.flat_map(|product| &product.cautions);
    let mut told: Vec<&str> = Vec::new();
    for caution in input.review.foliar.cautions.iter().chain(own) {
        let start = caution.trim_end_matches('.');
        if !told.iter().any(|known| known.starts_with(start)) {
            told.push(caution);
        }
    }
    told
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        // A growth stage such as V4 stays.
        Some(first) if !text.chars().nth(1).is_some_and(|c| c.is_ascii_digit()) => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => text.to_owned(),
    }
}

/// What a zone is not fed, in the plan's order.
pub(super) fn not_fed(input: &FollowInput, zone: u32) -> Vec<&NotFed> {
    let all = input.review.foliar.not_fed.iter();
    all.filter(|not| not.zone == zone).collect()
}

/// Why a zone gets what it gets.
pub(super) fn zone_reason(input: &FollowInput, feeds: &[LeafFeed], zone: u32) -> String {
    let mut reasons: Vec<String> = Vec::new();
    for feed in feeds.iter().filter(|feed| feed.zones.contains(&zone)) {
        for product in &feed.products {
            for why in product.why.iter().filter(|why| why.zone == zone) {
                if !reasons.contains(&why.finding) {
                    reasons.push(why.finding.clone());
                }
            }
        }
    }
    reasons.extend(not_fed(input, zone).into_iter().map(not_fed_line));
    let sentences: Vec<String> = reasons.iter().map(|reason| sentence(reason)).collect();
    sentences.join(" ")
}

/// The finding of what is not fed, and why it is not.
pub(super) fn not_fed_line(not: &NotFed) -> String {
    let finding = not.finding.iter().map(String::as_str);
    let parts: Vec<String> = finding.chain([not.why.as_str()]).map(sentence).collect();
    parts.join(" ")
}

/// With a capital at its start and a stop at its end.
fn sentence(text: &str) -> String {
    format!("{}.", capital(text.trim_end_matches('.')))
}

/// The ends of an interval: "84 to 92"; a dash where there is none.
pub(super) fn ends(interval: Option<(f64, f64)>, decimals: usize) -> String {
    interval.map_or_else(
        || "-".to_owned(),
        |(low, high)| format!("{} to {}", fixed(low, decimals), fixed(high, decimals)),
    )
}

/// The ends of an interval of plants per area in the printed unit; a dash where there is none.
pub(super) fn ends_of_plants(interval: Option<(f64, f64)>, units: UnitSystem) -> String {
    interval.map_or_else(
        || "-".to_owned(),
        |(low, high)| format!("{} to {}", plants(low, units), plants(high, units)),
    )
}

/// Plants per area to the hundred, in the printed unit.
pub(super) fn plants(per_acre: f64, units: UnitSystem) -> String {
    let (factor, _) = plants_unit(units);
    grouped((per_acre * factor / 100.0).round() * 100.0, 0)
}

/// What a plant per acre is in the printed unit, and the unit.
pub(super) fn plants_unit(units: UnitSystem) -> (f64, &'static str) {
    match units {
        UnitSystem::UnitedStates => (1.0, "plants/ac"),
        UnitSystem::Metric => (2.471_053_814_671_653, "plants/ha"),
    }
}

/// A unit as it is printed: degrees in capitals.
pub(super) fn unit(unit: &str) -> String {
    match unit {
        "c" | "degc" => "C".to_owned(),
        "f" | "degf" => "F".to_owned(),
        other => other.to_owned(),
    }
}
