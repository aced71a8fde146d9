//! What to buy, line by line.

use crate::deliver::mix::sheet::Sheet;
use crate::deliver::mix::sheet_lines::cost;
use crate::deliver::numbers::grouped;
use crate::deliver::overview::Overview;

/// Something to buy, as the first sheet prints it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BuyLine {
    /// What, how much, and what that costs: "2,250 lb Solubor (45 x bag): 4,050 USD".
    pub amount: String,
    /// What whole packs cost, where that is much more: "4,400 USD".
    pub packs_cost: Option<String>,
}

impl BuyLine {
    /// The whole line.
    #[must_use]
    pub fn text(&self) -> String {
        let Self { amount, packs_cost } = self;
        match packs_cost {
            Some(cost) => format!("{amount}; packs {cost}"),
            None => amount.clone(),
        }
    }
}

/// What has to be bought for the field.
pub(super) fn lines(overview: &Overview<'_>) -> Vec<BuyLine> {
    let purchases = Sheet::new(overview).purchases();
    purchases
        .iter()
        .map(|line| {
            let to_buy = if line.on_hand.is_some() {
                " to buy"
            } else {
                ""
            };
            let packs = line.packs.as_ref();
            let packs = packs.map(|packs| format!(" ({packs}{to_buy})"));
            let on_hand = line.on_hand.as_ref();
            let on_hand = on_hand.map(|part| match *part == line.amount {
                true => ", all of it on hand".to_owned(),
                false => format!(", {part} of it on hand"),
            });
            BuyLine {
                amount: format!(
                    "{} {}{}: {}{}",
                    line.amount,
                    line.label,
                    packs.unwrap_or_default(),
                    cost(usd(line.dollars), line.price_source),
                    on_hand.unwrap_or_default()
                ),
                packs_cost: usd(line.pack_dollars),
            }
        })
        .collect()
}

/// "4,050 USD".
pub(in crate::deliver) fn usd(dollars: Option<f64>) -> Option<String> {
    dollars.map(|dollars| format!("{} USD", grouped(dollars, 0)))
}
