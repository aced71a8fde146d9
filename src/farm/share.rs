//! The farm's money and stock, shared out over its fields by what they relieve: each field's frontier is joined with the next as those of
//! the zones of a field are. The order of the fields changes nothing.

use std::collections::BTreeMap;

use super::facts::StockAmount;
use super::record::FieldRecord;
use crate::engine::Allotment;
use crate::plan::Stock;
use crate::rates::frontier::{self, Best, Point};
use crate::rates::{Offers, StockOffer};
use crate::units::{Mass, Volume};

/// Most pairs of choices in a join of two sets of fields that are weighed exactly.
const MOST_PAIRS: usize = 2_000_000;
/// Grams in a kilogram, millilitres in a litre.
const PARTS: f64 = 1000.0;

/// How the farm's money is shared out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MoneyShare {
    /// The most that may be spent, cents.
    pub limit: u64,
    /// What the fields would spend together without a limit, cents.
    pub wanted: u64,
    /// What the consultant's own rates cost, which are paid first, cents.
    pub decided: u64,
    /// How many fields get less than they would spend.
    pub short: usize,
    /// Their names, sorted.
    pub short_fields: Vec<String>,
    /// What each field may spend, by its name, cents; empty where the limit holds all that the fields want.
    pub fields: BTreeMap<String, u64>,
    /// What the chosen fixes are worth.
    pub worth: u64,
    /// No choice within the limit is worth more.
    pub at_most: u64,
    /// How many fields have no result any more since it was shared out: what was theirs is left over.
    pub lost: usize,
}

impl MoneyShare {
    /// How much of the best that is possible the share-out relieves at least, 0 to 1; 1 where it is the best.
    #[must_use]
    pub fn of_best(&self) -> f64 {
        if self.worth >= self.at_most {
            return 1.0;
        }
        self.worth as f64 / self.at_most as f64
    }
}

/// Shares a limit in cents out over fields, each with its name. The consultant's own rates are paid first.
#[must_use]
pub fn share_money(limit: u64, fields: &[(&str, &Offers)]) -> MoneyShare {
    let sum = |of: fn(&Offers) -> u64| fields.iter().map(|(_, offers)| of(offers)).sum::<u64>();
    let mut share = MoneyShare {
        limit,
        wanted: sum(|offers| offers.spent_cents),
        decided: sum(|offers| offers.decided_cents),
        short: 0,
        short_fields: Vec::new(),
        fields: BTreeMap::new(),
        worth: 0,
        at_most: 0,
        lost: 0,
    };
    if share.wanted <= limit {
        return share;
    }
    let sorted = by_name(fields);
    let open = limit.saturating_sub(share.decided);
    let best = best_of(sorted.values().map(|offers| &offers.frontier), open);
    for ((name, offers), at) in sorted.iter().zip(&best.chosen) {
        let chosen = offers.frontier.get(*at).map_or(0, |point| point.cents);
        let own = offers.decided_cents + chosen;
        if own < offers.spent_cents {
            share.short += 1;
            share.short_fields.push((*name).to_owned());
        }
        share.fields.insert((*name).to_owned(), own);
    }
    share.worth = best.worth;
    share.at_most = best.at_most + sum(|offers| offers.loss);
    share
}

/// What each field may take of a product of which there is a stock: by the field's name, grams or millilitres. Nothing where the stock
/// holds all that the fields take.
#[must_use]
pub fn share_stock(amount: StockAmount, fields: &[(&str, &StockOffer)]) -> BTreeMap<String, u64> {
    let there = parts_of(amount);
    let sum = |of: fn(&StockOffer) -> u64| fields.iter().map(|(_, offer)| of(offer)).sum::<u64>();
    if sum(|offer| offer.used) <= there {
        return BTreeMap::new();
    }
    let open = there.saturating_sub(sum(|offer| offer.decided));
    let sorted = by_name(fields);
    let best = best_of(sorted.values().map(|offer| &offer.frontier), open);
    // What is left over goes a part of the way on the next field that could use it.
    let mut left = open.saturating_sub(best.cents);
    let mut shares = BTreeMap::new();
    for ((name, offer), at) in sorted.iter().zip(&best.chosen) {
        let chosen = offer.frontier.get(*at).map_or(0, |point| point.cents);
        let more = left.min(offer.used.saturating_sub(offer.decided + chosen));
        left -= more;
        shares.insert((*name).to_owned(), offer.decided + chosen + more);
    }
    shares
}

/// A product of the farm's shed: who takes it, and what each may take where it is scarce.
struct Shared<'a> {
    product: &'a str,
    amount: StockAmount,
    takers: BTreeMap<&'a str, &'a StockOffer>,
    shares: BTreeMap<String, u64>,
}

impl Shared<'_> {
    fn used(&self, field: &str) -> u64 {
        self.takers.get(field).map_or(0, |offer| offer.used)
    }

    fn is_short(&self, field: &str) -> bool {
        self.shares
            .get(field)
            .is_some_and(|share| *share < self.used(field))
    }

    /// What a field that is short of something may take: its share of what is scarce; of what is not, what it takes already and its part
    /// of what nobody takes, so that no stock is counted twice.
    fn for_field(&self, field: &str, fields_short: usize) -> Stock {
        let all: u64 = self.takers.values().map(|offer| offer.used).sum();
        let free = parts_of(self.amount).saturating_sub(all) / fields_short.max(1) as u64;
        let own = if self.shares.is_empty() {
            self.used(field) + free
        } else {
            self.shares.get(field).copied().unwrap_or(0)
        };
        amount_of(own, self.amount)
    }
}

/// What the fields get of the farm's stock that would take more than there is, by their names. What follows the soil (lime, gypsum) goes
/// out whatever is on hand, so no field has a share of it: the farm's bill alone tells what is to be bought.
pub(super) fn stock_shares<'a>(
    stock: &'a [(String, StockAmount)],
    records: impl Iterator<Item = &'a FieldRecord>,
) -> BTreeMap<String, Allotment> {
    let records: Vec<&FieldRecord> = records.collect();
    let products: Vec<Shared<'_>> = stock
        .iter()
        .filter(|(product, _)| !follows_the_soil(product, &records))
        .map(|(product, amount)| shared(product, *amount, &records))
        .collect();
    let names = records.iter().map(|record| record.row.id.as_str());
    let short: Vec<&str> = names
        .filter(|name| products.iter().any(|product| product.is_short(name)))
        .collect();
    let allotment = |name: &&str| {
        let stock = products.iter().map(|product| {
            let amount = product.for_field(name, short.len());
            (product.product.to_owned(), amount)
        });
        let allotment = Allotment {
            cents: None,
            stock: stock.collect(),
        };
        ((*name).to_owned(), allotment)
    };
    short.iter().map(allotment).collect()
}

/// Whether a product goes out somewhere and no field weighs it as a part of its mix.
fn follows_the_soil(product: &str, records: &[&FieldRecord]) -> bool {
    let goes_out = |record: &&FieldRecord| {
        let mut purchases = record.facts.purchases.iter();
        purchases.any(|line| line.name == product)
    };
    let is_weighed = |record: &&FieldRecord| {
        let mut offers = record.offers.stock.iter();
        offers.any(|offer| offer.product == product)
    };
    records.iter().any(goes_out) && !records.iter().any(is_weighed)
}

fn shared<'a>(product: &'a str, amount: StockAmount, records: &[&'a FieldRecord]) -> Shared<'a> {
    let takers: Vec<(&str, &StockOffer)> = records
        .iter()
        .filter_map(|record| {
            let mut offers = record.offers.stock.iter();
            let offer = offers.find(|offer| offer.product == product)?;
            Some((record.row.id.as_str(), offer))
        })
        .collect();
    Shared {
        product,
        amount,
        shares: share_stock(amount, &takers),
        takers: by_name(&takers),
    }
}

fn parts_of(amount: StockAmount) -> u64 {
    match amount {
        StockAmount::Kilograms(amount) | StockAmount::Litres(amount) => (amount * PARTS) as u64,
    }
}

fn amount_of(parts: u64, unit: StockAmount) -> Stock {
    let amount = parts as f64 / PARTS;
    match unit {
        StockAmount::Kilograms(_) => Stock::Mass(Mass::from_kilograms(amount)),
        StockAmount::Litres(_) => Stock::Volume(Volume::from_litres(amount)),
    }
}

fn by_name<'a, T>(fields: &[(&'a str, &'a T)]) -> BTreeMap<&'a str, &'a T> {
    fields.iter().copied().collect()
}

fn best_of<'a>(frontiers: impl Iterator<Item = &'a Vec<Point>>, limit: u64) -> Best {
    let frontiers: Vec<Vec<Point>> = frontiers.cloned().collect();
    frontier::best(&frontiers, limit, MOST_PAIRS)
}
