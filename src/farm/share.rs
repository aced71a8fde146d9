//! What the farm has once for all fields, money and stock, shared out by what it relieves. Each field says what each cost buys at best; the
//! farm joins these frontiers as a field joins those of its zones. A field that gets less than it would take is then worked on again with its
//! share as the limit.

use super::facts::{FarmFacts, StockAmount};
use super::record::FieldRecord;
use crate::deliver::Shared;
use crate::engine::Allotment;
use crate::plan::Stock;
use crate::rates::frontier::{self, Point};
use crate::units::{Mass, Volume};

/// Most joint choices that are looked at in one join; farms with more take the best steps by worth per dollar.
const MOST_CHOICES: usize = 4_000_000;

/// How money and stock are shared out.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shares {
    /// What each field gets, in the order of the records; `None` where it gets all that it would take.
    pub allotments: Vec<Option<Allotment>>,
    /// How the money was shared out, where the farm has a budget.
    pub shared: Option<Shared>,
}

/// Shares out what the farm has once. The order of the fields changes nothing.
pub(super) fn share(facts: &FarmFacts, records: &[FieldRecord]) -> Shares {
    let mut order: Vec<usize> = (0..records.len()).collect();
    order.sort_by(|a, b| records[*a].row.id.cmp(&records[*b].row.id));
    let mut allotments: Vec<Option<Allotment>> = vec![None; records.len()];
    let shared = facts.budget_usd.map(|dollars| {
        let limit = (dollars * 100.0 + 1e-6).floor().max(0.0) as u64;
        money(limit, records, &order, &mut allotments)
    });
    for (product, amount) in &facts.stock {
        stock(product, *amount, records, &order, &mut allotments);
    }
    Shares { allotments, shared }
}

/// Cents that a field spends without a share, products and work.
fn spent(record: &FieldRecord) -> u64 {
    let work = record.facts.sheet.money.1.max(0) as u64 * 100;
    let lines = record.facts.purchases.iter();
    let products: f64 = lines.filter_map(|line| line.dollars).sum();
    (products * 100.0 - 1e-6).ceil().max(0.0) as u64 + work
}

fn money(
    limit: u64,
    records: &[FieldRecord],
    order: &[usize],
    allotments: &mut [Option<Allotment>],
) -> Shared {
    let all: u64 = records.iter().map(spent).sum();
    let decided: u64 = records.iter().map(|record| record.offers.decided_cents).sum();
    let mut shared = Shared {
        limit,
        short: 0,
        beyond: decided.saturating_sub(limit),
        of_best: 1.0,
    };
    if all <= limit {
        return shared;
    }
    let offers = order.iter().map(|at| &records[*at].offers);
    let frontiers: Vec<Vec<Point>> = offers.clone().map(|offers| offers.frontier.clone()).collect();
    let best = frontier::best(&frontiers, limit.saturating_sub(decided), MOST_CHOICES);
    let loss: u64 = offers.map(|offers| offers.loss).sum();
    let most = best.at_most + loss;
    if most > 0 {
        shared.of_best = best.worth as f64 / most as f64;
    }
    for ((at, frontier), chosen) in order.iter().zip(&frontiers).zip(best.chosen) {
        let record = &records[*at];
        let cents = frontier.get(chosen).map_or(0, |point| point.cents);
        let cents = record.offers.decided_cents + cents;
        if cents < spent(record) {
            shared.short += 1;
            allotments[*at].get_or_insert_default().cents = Some(cents);
        }
    }
    shared
}

/// Shares a product's stock out: where a kilogram or litre relieves most comes first.
fn stock(
    product: &str,
    amount: StockAmount,
    records: &[FieldRecord],
    order: &[usize],
    allotments: &mut [Option<Allotment>],
) {
    let (mut left, is_liquid) = match amount {
        StockAmount::Kilograms(kilograms) => (kilograms, false),
        StockAmount::Litres(litres) => (litres, true),
    };
    let wanted = |at: usize| -> f64 {
        let lines = records[at].facts.purchases.iter();
        lines
            .filter(|line| line.name == product && line.is_liquid == is_liquid)
            .map(|line| line.amount)
            .sum()
    };
    let relief = |at: usize| -> f64 {
        let mut relief = records[at].offers.relief.iter();
        let worth = relief.find(|(name, _)| name == product);
        worth.map_or(0.0, |(_, worth)| *worth as f64)
    };
    let wants = order.iter().map(|at| (*at, wanted(*at)));
    let mut wants: Vec<(usize, f64)> = wants.filter(|(_, amount)| *amount > 0.0).collect();
    let all: f64 = wants.iter().map(|(_, amount)| amount).sum();
    if all <= left * (1.0 + 1e-9) {
        return;
    }
    // A stable sort: fields of equal relief keep the order of their names.
    wants.sort_by(|a, b| (relief(b.0) / b.1).total_cmp(&(relief(a.0) / a.1)));
    for (at, amount) in wants {
        let given = amount.min(left);
        left -= given;
        let given = match is_liquid {
            true => Stock::Volume(Volume::from_litres(given)),
            false => Stock::Mass(Mass::from_kilograms(given)),
        };
        let allotment = allotments[at].get_or_insert_default();
        allotment.stock.push((product.to_owned(), given));
    }
}

#[cfg(test)]
#[path = "share_tests.rs"]
mod tests;
