//! What is bought once for the whole farm: the fields' amounts together, less what stands in the shed, in whole packs.

use super::facts::{PurchaseFacts, cents};
use super::input::{FarmInput, StockLine};
use crate::deliver::mix::sheet::whole_packs;
use crate::rulebook::PriceSource;

/// A thing to buy for the farm.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FarmPurchase {
    /// Name in the rulebook.
    pub name: String,
    pub label: String,
    pub is_liquid: bool,
    pub pack: Option<(String, f64)>,
    /// Kilograms or litres that go out.
    pub amount: f64,
    /// Of them, what stands in the shed.
    pub on_hand: f64,
    /// What the amount costs, cents: the sum over the fields; nothing where a field knows no price.
    pub cents: Option<i64>,
    /// Where the price comes from; a guess where that of one field is.
    pub price_source: PriceSource,
}

impl FarmPurchase {
    /// What has to be bought, kilograms or litres.
    pub(super) fn bought(&self) -> f64 {
        self.amount - self.on_hand
    }

    /// Whole packs that hold it.
    pub(super) fn packs(&self) -> Option<u64> {
        let (_, size) = self.pack.as_ref().filter(|(_, size)| *size > 0.0)?;
        Some(whole_packs(self.bought(), *size))
    }

    /// What is paid for it, in whole packs where it comes in packs, cents.
    pub(super) fn paid(&self) -> Option<i64> {
        let cents = self.cents? as f64;
        let bought = match (self.packs(), &self.pack) {
            (Some(packs), Some((_, size))) => packs as f64 * size,
            _ => self.bought(),
        };
        Some((cents * bought / self.amount).round() as i64)
    }
}

/// The farm's purchases: things of one name, measure and pack together, in the order in which fields name them.
pub(super) fn purchases(input: &FarmInput<'_>) -> Vec<FarmPurchase> {
    let mut all: Vec<FarmPurchase> = Vec::new();
    let lines = input.fields.iter().flat_map(|field| &field.facts.purchases);
    for line in lines {
        let known = all.iter_mut().find(|known| is_same(known, line));
        let cents = line.dollars.map(cents);
        match known {
            Some(known) => {
                known.amount += line.amount;
                known.cents = known.cents.zip(cents).map(|(a, b)| a + b);
                if line.price_source == PriceSource::BuiltIn {
                    known.price_source = line.price_source;
                }
            }
            None => all.push(FarmPurchase {
                name: line.name.clone(),
                label: line.label.clone(),
                is_liquid: line.is_liquid,
                pack: line.pack.clone(),
                amount: line.amount,
                on_hand: 0.0,
                cents,
                price_source: line.price_source,
            }),
        }
    }
    take_from_shed(&mut all, &input.stock);
    all
}

fn is_same(known: &FarmPurchase, line: &PurchaseFacts) -> bool {
    known.name == line.name
        && known.label == line.label
        && known.is_liquid == line.is_liquid
        && known.pack == line.pack
}

/// The stock is there once: what one line takes of it the next does not have.
fn take_from_shed(all: &mut [FarmPurchase], stock: &[StockLine]) {
    for line in stock {
        let mut left = line.amount;
        let of_it = all.iter_mut().filter(|purchase| {
            purchase.name == line.product && purchase.is_liquid == line.is_liquid
        });
        for purchase in of_it {
            purchase.on_hand = left.min(purchase.amount);
            left -= purchase.on_hand;
        }
    }
}
