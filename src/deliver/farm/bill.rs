//! The farm's bill: what is bought once, what each field takes of it, and whether the budget holds it in whole packs.

use super::input::{FarmInput, Shared};
use super::purchases::{FarmPurchase, purchases};
use crate::deliver::numbers::grouped;
use crate::deliver::review::guessed_words;

/// The bill.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Bill {
    pub purchases: Vec<FarmPurchase>,
    /// Cents of products and of other work, one pair per field.
    pub fields: Vec<(i64, i64)>,
    shared: Option<Shared>,
    /// Whole dollars at prices that nobody gave.
    guessed: i64,
    /// Fields with a budget of their own: name, whole dollars, and whether it left something out.
    own: Vec<(String, i64, bool)>,
}

/// Most fields that a line of the money names.
const MOST_NAMED: usize = 6;

impl Bill {
    pub(super) fn new(input: &FarmInput<'_>) -> Self {
        let money = input.fields.iter().map(|field| field.facts.cents());
        Self {
            purchases: purchases(input),
            fields: money.collect(),
            shared: input.shared.clone(),
            guessed: input
                .fields
                .iter()
                .map(|field| field.facts.sheet.guessed)
                .sum(),
            own: input
                .fields
                .iter()
                .filter_map(|field| {
                    let (dollars, is_cut) = field.facts.sheet.own_budget?;
                    Some((field.field.to_owned(), dollars, is_cut))
                })
                .collect(),
        }
    }

    /// Cents of all products at the amounts that go out.
    pub(super) fn products(&self) -> i64 {
        self.fields.iter().map(|field| field.0).sum()
    }

    /// Cents of all other work.
    pub(super) fn work(&self) -> i64 {
        self.fields.iter().map(|field| field.1).sum()
    }

    /// Cents that are paid at the dealer's: whole packs, without what stands in the shed.
    pub(super) fn paid(&self) -> i64 {
        self.purchases.iter().filter_map(FarmPurchase::paid).sum()
    }

    /// What it comes to, in words.
    pub(super) fn money_line(&self) -> String {
        let (products, work) = (self.products(), self.work());
        let line = format!(
            "Products {} USD, other work {} USD: {} USD",
            usd(products),
            usd(work),
            usd(products + work)
        );
        let line = match &self.shared {
            Some(shared) => format!(
                "{line} of the farm's budget of {} USD",
                usd_of(shared.limit)
            ),
            None => line,
        };
        match guessed_words(self.guessed, (products + work) / 100) {
            Some(guessed) => format!("{line}; {guessed}"),
            None => line,
        }
    }

    /// What whole packs make of it.
    pub(super) fn packs_line(&self) -> Option<String> {
        let more = self.paid() - self.products();
        let paid = format!(
            "In whole packs the bill is {} USD",
            usd(self.paid() + self.work())
        );
        match more {
            0 => None,
            1.. => Some(format!("{paid}, {} USD more than the amounts", usd(more))),
            _ => Some(format!(
                "{paid}, without what stands in the shed; the amounts are {} USD",
                usd(self.products() + self.work())
            )),
        }
    }

    /// How far the bill passes the budget, and what follows.
    pub(super) fn over_line(&self) -> Option<String> {
        let limit = i64::try_from(self.shared.as_ref()?.limit).unwrap_or(i64::MAX);
        let over = self.paid() + self.work() - limit;
        (over > 0).then(|| {
            let amounts = self.products() + self.work();
            if amounts > limit {
                let over = usd(amounts - limit);
                format!("The rates pass the farm's budget by {over} USD: the consultant's own rates and the check strips come first; raise the limit or take an [[override]] back")
            } else {
                let over = usd(over);
                format!("Whole packs pass the farm's budget by {over} USD; the rates keep inside it: ask for part packs, share a pack, or keep the rest for next season")
            }
        })
    }

    /// The budgets of single fields: an amount per area, or one that stands in a plan.
    fn own_line(&self) -> Option<String> {
        let each = self.own.iter().map(|(field, dollars, is_cut)| {
            let cut = match is_cut {
                true => " (pays for less than is recommended)",
                false => "",
            };
            format!("{field} {} USD{cut}", grouped(*dollars as f64, 0))
        });
        let each: Vec<String> = each.collect();
        (!each.is_empty()).then(|| format!("Fields with a budget of their own: {}", named(&each)))
    }

    /// How well the money is shared out, in words.
    pub(super) fn shared_lines(&self) -> Vec<String> {
        let mut lines: Vec<String> = self.own_line().into_iter().collect();
        let Some(shared) = &self.shared else {
            return lines;
        };
        if shared.short.is_empty() {
            let is_cut = self.own.iter().any(|(_, _, is_cut)| *is_cut);
            let within = match is_cut {
                true => " within the fields' own budgets",
                false => "",
            };
            lines.push(format!(
                "The farm's budget pays for all that is recommended{within}"
            ));
            return lines;
        }
        let fields = match shared.short.len() {
            1 => "1 field gets".to_owned(),
            count => format!("{count} fields get"),
        };
        lines.push(format!(
            "The farm's budget buys fixes for whole zones, those that together relieve most; {fields} less than all that is recommended: {}. All that the fields would take costs {} USD",
            named(&shared.short),
            usd_of(shared.wanted)
        ));
        lines.push(match shared.lost {
            0 => how_good(shared.of_best),
            1 => "1 field lost its rates after the money was shared out: what was its share is left over".to_owned(),
            count => format!("{count} fields lost their rates after the money was shared out: what was their share is left over"),
        });
        if shared.beyond > 0 {
            let beyond = usd_of(shared.beyond);
            lines.push(format!(
                "The consultant's own rates alone pass the budget by {beyond} USD"
            ));
        }
        lines
    }
}

/// Some names, and how many more there are.
fn named(names: &[String]) -> String {
    let more = names.len().saturating_sub(MOST_NAMED);
    let first = names[..names.len() - more].join(", ");
    match more {
        0 => first,
        more => format!("{first} and {more} more"),
    }
}

/// "within 0.2 % of the best possible".
fn how_good(of_best: f64) -> String {
    // Rounded up, so that the claim holds.
    let gap = ((1.0 - of_best) * 1_000.0).ceil() / 10.0;
    if of_best >= 1.0 {
        "No other choice of fixes for whole zones relieves more, each with what must come before it"
            .to_owned()
    } else {
        format!("What it relieves is within {gap} % of the best possible")
    }
}

/// Whole dollars of cents.
pub(super) fn usd(cents: i64) -> String {
    grouped(cents as f64 / 100.0, 0)
}

fn usd_of(cents: u64) -> String {
    grouped(cents as f64 / 100.0, 0)
}
