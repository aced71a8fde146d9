//! Leaf feeds in words: what text, page, map and mix sheet say alike.

use super::FollowInput;
use crate::deliver::numbers::grouped;
use crate::season::{FeedProduct, LeafFeed, NotFed};
use crate::text::capital;
use crate::units::{MassPerArea, UnitSystem, decimal, significant};

/// Said of every feed.
pub(super) const UNTREATED: &str = "Leave one pass in each zone without it and harvest it by itself: what a leaf feed does here is not known before.";

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

/// Mass per area with its unit: two decimals below 10.
pub(super) fn mass(amount: MassPerArea, units: UnitSystem) -> String {
    let number = amount.number_in(units);
    let text = if number < 10.0 {
        decimal(number, 2)
    } else {
        significant(number, 3)
    };
    format!("{text} {}", MassPerArea::unit_in(units))
}

/// "zinc sulfate 0.7 lb/ac".
pub(super) fn product_rate(product: &FeedProduct, units: UnitSystem) -> String {
    format!("{} {}", product.label, mass(product.amount, units))
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

/// "zones 2, 5".
pub(super) fn zones(numbers: &[u32]) -> String {
    let names: Vec<String> = numbers.iter().map(u32::to_string).collect();
    let word = if names.len() == 1 { "zone" } else { "zones" };
    format!("{word} {}", names.join(", "))
}

/// Cost per area and over the zones, with units.
pub(super) fn cost(feed: &LeafFeed, units: UnitSystem) -> String {
    let (Some(per_hectare), Some(total)) = (feed.cost_usd_ha, feed.cost_usd) else {
        return "no price for all of it".to_owned();
    };
    let area = crate::units::MoneyPerArea::from_dollars_per_hectare(per_hectare);
    format!(
        "{} {}, {} USD over its zones",
        grouped(area.number_in(units), 2),
        crate::units::MoneyPerArea::unit_in(units),
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

/// What a zone gets, as an order without its rates.
pub(super) fn zone_order(input: &FollowInput, feeds: &[LeafFeed], zone: u32) -> String {
    let own: Vec<&LeafFeed> = feeds
        .iter()
        .filter(|feed| feed.zones.contains(&zone))
        .collect();
    if let Some(first) = own.first() {
        let numbers: Vec<String> = own.iter().map(|feed| feed.number.to_string()).collect();
        let word = if numbers.len() == 1 { "feed" } else { "feeds" };
        return format!(
            "Leaf {word} {}: {}, first {}",
            numbers.join(", "),
            feed_rate(first, input.facts.units),
            lower_first(&first.when)
        );
    }
    let not: Vec<&NotFed> = not_fed(input, zone);
    let records = &input.ground.records;
    let mut own = records.iter().filter(|record| record.number == zone);
    if own.any(|record| record.carbon_gate.is_some()) {
        return "No leaf feed: carbon comes first; a check strip is offered".to_owned();
    }
    if not.iter().any(|not| not.factor.is_some()) {
        return "No leaf feed: what is short here the leaf does not take".to_owned();
    }
    "No leaf feed: nothing that it could fill is measured short".to_owned()
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
    let lead = format!("Zone {zone}: ");
    let mut reasons: Vec<String> = Vec::new();
    for feed in feeds.iter().filter(|feed| feed.zones.contains(&zone)) {
        for product in &feed.products {
            for why in &product.why {
                let own = why.strip_prefix(&lead).map(str::to_owned);
                reasons.extend(own.filter(|own| !reasons.contains(own)));
            }
        }
    }
    reasons.extend(not_fed(input, zone).into_iter().map(not_fed_line));
    capital(&reasons.join(" "))
}

/// The finding of what is not fed, and why it is not.
pub(super) fn not_fed_line(not: &NotFed) -> String {
    let finding = not.finding.iter().map(String::as_str);
    let parts: Vec<&str> = finding.chain([not.why.as_str()]).collect();
    parts.join(" ")
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
