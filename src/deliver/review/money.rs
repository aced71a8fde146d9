//! What the field costs: products, other work, and what the budget holds. The parts add up to the totals as they are printed.

use crate::deliver::mix::sheet::{Purchase, exact_purchases, on_hand};
use crate::deliver::numbers::grouped;
use crate::deliver::overview::Overview;
use crate::deliver::zone_view::ZoneView;
use crate::rates::Fix;
use crate::rulebook::PriceSource;
use crate::units::{Area, MoneyPerArea, Quantity};

/// The money of the whole field, in whole United States dollars.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Money {
    /// All products at the rates of this season.
    pub products: i64,
    /// Work that is no product: loosening, cover crops, drains.
    pub work: i64,
    /// What of both is at prices that nobody gave: the program's own.
    pub guessed: i64,
    /// What of the products stands in the shed, at the price of the rest.
    pub on_hand: i64,
    /// What the whole packs of what is not on hand cost more than the amounts, where that is a twentieth of the products or more; else 0.
    pub packs_more: i64,
    /// What the budget holds for the field, where the plan sets one.
    pub budget: Option<i64>,
    /// Whether that is the field's share of the farm's budget.
    pub is_share: bool,
}

impl Money {
    /// The money of a field.
    #[must_use]
    pub fn new(overview: &Overview<'_>) -> Self {
        let over_zones = |cost: &dyn Fn(&ZoneView<'_>) -> MoneyPerArea| -> f64 {
            let zones = overview.zones.iter();
            zones.map(|view| dollars(cost(view), view.area())).sum()
        };
        let work = over_zones(&work);
        let guessed_work = over_zones(&|view| guessed_work(view, overview));
        let guessed_products: f64 = exact_purchases(overview.stages.prescription)
            .iter()
            .filter(|(_, line)| line.price_source == PriceSource::BuiltIn)
            .filter_map(|(_, line)| line.dollars)
            .sum();
        let products: f64 = overview
            .pieces
            .iter()
            .map(|piece| dollars(piece.cost, piece.area))
            .sum();
        let whole: Area = overview.zones.iter().map(ZoneView::area).sum();
        let budget = overview.stages.prescription.budget.as_ref();
        Self {
            products: products.round() as i64,
            work: work.round() as i64,
            guessed: (guessed_products + guessed_work).round() as i64,
            on_hand: on_hand_dollars(overview).round() as i64,
            packs_more: packs_more(overview, products).round() as i64,
            budget: budget.map(|budget| dollars(budget.limit, whole).round() as i64),
            is_share: budget.is_some_and(|budget| budget.is_share),
        }
    }

    /// Products and work together.
    #[must_use]
    pub fn spent(self) -> i64 {
        self.products.saturating_add(self.work)
    }

    /// [`Money::sum`] with what whole packs cost more.
    #[must_use]
    pub fn line(self) -> String {
        let parts = [Some(self.sum()), self.packs()].into_iter().flatten();
        parts.collect::<Vec<_>>().join("; ")
    }

    /// "whole packs 1,475 USD more"; nothing where that is little.
    #[must_use]
    pub fn packs(self) -> Option<String> {
        let more = grouped(self.packs_more as f64, 0);
        (self.packs_more > 0).then(|| format!("whole packs {more} USD more"))
    }

    /// "products 4,382 USD, other work 364 USD: 4,746 of the budget's 8,786 USD".
    #[must_use]
    pub fn sum(self) -> String {
        let usd = |dollars: i64| grouped(dollars as f64, 0);
        let parts = format!(
            "products {} USD, other work {} USD",
            usd(self.products),
            usd(self.work)
        );
        let sum = match self.budget {
            Some(budget) if self.is_share => format!(
                "{parts}: {} of {} USD, the field's share of the farm's budget",
                usd(self.spent()),
                usd(budget)
            ),
            Some(budget) => format!(
                "{parts}: {} of the budget's {} USD",
                usd(self.spent()),
                usd(budget)
            ),
            None => format!("{parts}: {} USD", usd(self.spent())),
        };
        let on_hand =
            (self.on_hand > 0).then(|| format!("{} USD of it is on hand", usd(self.on_hand)));
        let guessed = guessed_words(self.guessed, self.spent());
        let parts = [Some(sum), guessed, on_hand].into_iter().flatten();
        parts.collect::<Vec<_>>().join("; ")
    }
}

/// "3,662 USD of it guessed (no price given)"; nothing where every price was.
pub(in crate::deliver) fn guessed_words(guessed: i64, spent: i64) -> Option<String> {
    let what = match guessed {
        ..=0 => return None,
        _ if guessed >= spent => "all of it".to_owned(),
        _ => format!("{} USD of it", grouped(guessed as f64, 0)),
    };
    Some(format!("{what} guessed (no price given)"))
}

/// What whole packs cost more than the amounts; nothing under a twentieth of the products (own).
fn packs_more(overview: &Overview<'_>, products: f64) -> f64 {
    const SHARE: f64 = 0.05;
    let supply = &overview.stages.settings.supply;
    let more: f64 = exact_purchases(overview.stages.prescription)
        .into_iter()
        .map(|(name, line)| {
            let stock = on_hand(supply, &name, line.amount);
            line.with_stock(stock).packs_more()
        })
        .sum();
    if more >= SHARE * products { more } else { 0.0 }
}

/// What stands in the shed of what goes out, United States dollars.
fn on_hand_dollars(overview: &Overview<'_>) -> f64 {
    let supply = &overview.stages.settings.supply;
    let lines = exact_purchases(overview.stages.prescription).into_iter();
    let of_line = |(name, line): (String, Purchase<'_>)| {
        let part = on_hand(supply, &name, line.amount)?;
        Some(line.dollars? * part.stored() / line.amount.stored())
    };
    lines.filter_map(of_line).sum()
}

/// The part of [`work`] whose cost is the program's own guess.
fn guessed_work(view: &ZoneView<'_>, overview: &Overview<'_>) -> MoneyPerArea {
    let is_guessed = |fix: &&Fix| {
        let mut rules = overview.stages.rulebook.fixes.iter();
        rules.any(|rule| rule.name == fix.name && rule.cost_source == PriceSource::BuiltIn)
    };
    let guessed = works(view).filter(is_guessed);
    MoneyPerArea::from_dollars_per_hectare(guessed.map(|fix| fix.cost.dollars_per_hectare()).sum())
}

/// Cost of the work in a zone that is no product, as far as the budget bought it. Tests are paid once, not by area.
#[must_use]
pub fn work(view: &ZoneView<'_>) -> MoneyPerArea {
    MoneyPerArea::from_dollars_per_hectare(
        works(view).map(|fix| fix.cost.dollars_per_hectare()).sum(),
    )
}

fn works<'a>(view: &'a ZoneView<'_>) -> impl Iterator<Item = &'a Fix> {
    let fixes = view.rates.fixes.iter();
    fixes.filter(|fix| fix.product.is_none() && !fix.left_out && !fix.is_test)
}

/// The work that is billed with its zones, so that the bill holds nothing that is not named: "cover crop 1, 2; loosening 2";
/// empty where there is none. The zones' chapters have the cost of each.
#[must_use]
pub fn work_words(overview: &Overview<'_>) -> String {
    let mut named: Vec<(&Fix, Vec<String>)> = Vec::new();
    for view in &overview.zones {
        for fix in works(view).filter(|fix| fix.cost.dollars_per_hectare() > 0.0) {
            let number = view.number.to_string();
            match named.iter_mut().find(|(known, _)| known.name == fix.name) {
                Some((_, zones)) => zones.push(number),
                None => named.push((fix, vec![number])),
            }
        }
    }
    let line = |(fix, zones): &(&Fix, Vec<String>)| {
        let mut rules = overview.stages.rulebook.fixes.iter();
        let rule = rules.find(|rule| rule.name == fix.name);
        let word = rule.map_or_else(
            || fix.name.replace(['_', '-'], " "),
            |rule| rule.word.clone(),
        );
        format!("{word} {}", zones.join(", "))
    };
    named.iter().map(line).collect::<Vec<_>>().join("; ")
}

/// Cost of products and work in a zone.
#[must_use]
pub fn zone_cost(view: &ZoneView<'_>) -> MoneyPerArea {
    MoneyPerArea::from_dollars_per_hectare(
        view.rates.cost.dollars_per_hectare() + work(view).dollars_per_hectare(),
    )
}

fn dollars(cost: MoneyPerArea, area: Area) -> f64 {
    cost.dollars_per_hectare() * area.in_unit("ha").unwrap_or_default()
}
