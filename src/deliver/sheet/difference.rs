//! What a changed plan changes against the saved one, in words.

use super::{ProductFacts, Sheet};
use crate::deliver::numbers::grouped;

/// One line for each thing that changed; empty where nothing did.
///
/// "lime: 12 ac more, 24,000 lb more", "products: 840 USD less".
#[must_use]
pub fn difference(saved: &Sheet, tried: &Sheet) -> Vec<String> {
    let mut lines = Vec::new();
    let (before, now) = (saved.zones.len(), tried.zones.len());
    if before != now {
        lines.push(format!("{now} zones instead of {before}"));
    }
    let all = saved.products.iter().chain(&tried.products);
    let mut seen: Vec<&str> = Vec::new();
    for product in all {
        if !seen.contains(&product.name.as_str()) {
            seen.push(&product.name);
            lines.extend(of_product(product, saved, tried));
        }
    }
    lines.extend(usd("products", saved.products_usd, tried.products_usd));
    lines.extend(usd("other work", saved.work_usd, tried.work_usd));
    lines.extend(orders(saved, tried));
    lines
}

fn of_product(product: &ProductFacts, saved: &Sheet, tried: &Sheet) -> Option<String> {
    let of = |sheet: &Sheet| {
        let found = sheet.products.iter().find(|own| own.name == product.name);
        found.map_or((0.0, 0.0), |own| (own.treated, own.amount))
    };
    let (before, now) = (of(saved), of(tried));
    let area = more_or_less(now.0 - before.0, saved.area_unit, 1);
    let amount = more_or_less(now.1 - before.1, product.amount_unit, 0);
    let parts: Vec<String> = area.into_iter().chain(amount).collect();
    (!parts.is_empty()).then(|| format!("{}: {}", product.label, parts.join(", ")))
}

fn usd(what: &str, before: i64, now: i64) -> Option<String> {
    let change = now.saturating_sub(before) as f64;
    more_or_less(change, "USD", 0).map(|change| format!("{what}: {change}"))
}

/// "12 ac more"; nothing where it rounds to nothing.
fn more_or_less(change: f64, unit: &str, decimals: usize) -> Option<String> {
    let size = grouped(change.abs(), decimals);
    let is_something = size.chars().any(|digit| ('1'..='9').contains(&digit));
    let word = if change > 0.0 { "more" } else { "less" };
    is_something.then(|| format!("{size} {unit} {word}"))
}

/// Orders that are new or gone.
fn orders(saved: &Sheet, tried: &Sheet) -> Vec<String> {
    let only_in = |sheet: &Sheet, other: &Sheet, word: &str| -> Vec<String> {
        let is_new = |order: &&str| other.treatments.iter().all(|own| own.order != **order);
        let orders = sheet.treatments.iter().map(|own| own.order.as_str());
        orders
            .filter(is_new)
            .map(|order| format!("{word}: {order}"))
            .collect()
    };
    [
        only_in(tried, saved, "now first"),
        only_in(saved, tried, "no longer first"),
    ]
    .concat()
}
