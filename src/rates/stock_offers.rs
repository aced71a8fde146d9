//! What the stock of a product would do on the field, for a farm that has it once for all fields.

use std::collections::BTreeSet;

use super::StockOffer;
use super::budget::{self, Item};
use super::nutrients::is_open;
use super::pending_rate::PendingRate;
use super::spending::{MOST_POINTS, is_weighed, share_of};
use super::zone_context::FieldContext;
use super::zone_plan::ZonePlan;
use crate::plan::FarmBudget;
use crate::rulebook::ProductName;

/// Grams in a kilogram, millilitres in a litre.
const PARTS: f64 = 1000.0;

/// The products of the nutrient mix that go out and of which the plan has no stock of its own: lime and gypsum follow the soil, whatever
/// is on hand. Nothing where no farm asks.
pub(super) fn all(field: &FieldContext<'_>, zones: &[ZonePlan]) -> Vec<StockOffer> {
    if field.settings.farm.budget != FarmBudget::Asked {
        return Vec::new();
    }
    let rates = zones.iter().flat_map(|zone| &zone.pending);
    let used = rates.filter(|rate| rate.amount > 0.0);
    let names: BTreeSet<&str> = used.map(|rate| &*rate.product).collect();
    let own: BTreeSet<&str> = (field.settings.supply.shed.iter())
        .flat_map(|shed| &shed.on_hand)
        .map(|(name, _)| name.as_str())
        .collect();
    let is_of_mix = |name: &&str| {
        let product = field.rulebook.product(name);
        product.is_some_and(|product| !product.feeds.is_empty() && is_open(field, product))
    };
    names
        .into_iter()
        .filter(|name| !own.contains(name) && is_of_mix(name))
        .map(|name| offer(&ProductName::new(name), zones))
        .collect()
}

fn offer(name: &ProductName, zones: &[ZonePlan]) -> StockOffer {
    let amount = |zone: &ZonePlan, is_counted: fn(&PendingRate) -> bool| {
        let rate = zone.pending.iter().find(|rate| rate.product == *name);
        rate.filter(|rate| is_counted(rate))
            .map_or(0, |rate| parts(rate.amount * zone.hectares))
    };
    let decided = |rate: &PendingRate| rate.overridden.is_some();
    let items: Vec<Vec<Item>> = zones
        .iter()
        .map(|zone| item(name, zone, amount(zone, |rate| rate.overridden.is_none())))
        .collect();
    StockOffer {
        product: name.to_string(),
        decided: zones.iter().map(|zone| amount(zone, decided)).sum(),
        used: zones.iter().map(|zone| amount(zone, |_| true)).sum(),
        frontier: budget::frontier(&items, u64::MAX, MOST_POINTS).0,
    }
}

/// All of the product in a zone, with what it relieves there.
fn item(name: &ProductName, zone: &ZonePlan, amount: u64) -> Vec<Item> {
    let fixes = zone
        .candidates
        .iter()
        .filter(|candidate| is_weighed(candidate) && candidate.fix.product.as_ref() == Some(name));
    let relieves = fixes.flat_map(|candidate| {
        let share = |relief| share_of(relief, zone.hectares, candidate.lasts);
        candidate.relieves.iter().copied().map(share)
    });
    let item = Item {
        cents: amount,
        relieves: relieves.collect(),
        needs: Vec::new(),
    };
    vec![item]
}

fn parts(amount: f64) -> u64 {
    (amount * PARTS).round().max(0.0) as u64
}
