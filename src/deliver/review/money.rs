//! What the field costs: products, other work, and what the budget holds. The parts add up to the totals as they are printed.

use crate::deliver::numbers::grouped;
use crate::deliver::overview::Overview;
use crate::deliver::zone_view::ZoneView;
use crate::units::{Area, MoneyPerArea, Quantity};

/// The money of the whole field, in whole United States dollars.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Money {
    /// All products at the rates of this season.
    pub products: i64,
    /// Work that is no product: loosening, cover crops, drains.
    pub work: i64,
    /// What the budget holds for the field, where the plan sets one.
    pub budget: Option<i64>,
}

impl Money {
    /// The money of a field.
    #[must_use]
    pub fn new(overview: &Overview<'_>) -> Self {
        let work: f64 = overview
            .zones
            .iter()
            .map(|view| dollars(work(view), view.area()))
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
            budget: budget.map(|budget| dollars(budget.limit, whole).round() as i64),
        }
    }

    /// Products and work together.
    #[must_use]
    pub fn spent(self) -> i64 {
        self.products + self.work
    }

    /// "products 4,382 USD, other work 364 USD: 4,746 of the budget's 8,786 USD".
    #[must_use]
    pub fn line(self) -> String {
        let usd = |dollars: i64| grouped(dollars as f64, 0);
        let parts = format!(
            "products {} USD, other work {} USD",
            usd(self.products),
            usd(self.work)
        );
        match self.budget {
            Some(budget) => format!(
                "{parts}: {} of the budget's {} USD",
                usd(self.spent()),
                usd(budget)
            ),
            None => format!("{parts}: {} USD", usd(self.spent())),
        }
    }
}

/// Cost of the work in a zone that is no product, as far as the budget bought it. Tests are paid once, not by area.
#[must_use]
pub fn work(view: &ZoneView<'_>) -> MoneyPerArea {
    let fixes = view.rates.fixes.iter();
    let is_work = |fix: &&crate::rates::Fix| fix.product.is_none() && !fix.left_out && !fix.is_test;
    MoneyPerArea::from_dollars_per_hectare(
        fixes
            .filter(is_work)
            .map(|fix| fix.cost.dollars_per_hectare())
            .sum(),
    )
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

/// Parts as whole dollars whose sum is the rounded sum of the parts: those with the largest rest are rounded up.
#[must_use]
pub fn rounded_to_sum(parts: &[f64]) -> Vec<i64> {
    let mut whole: Vec<i64> = parts.iter().map(|part| part.floor() as i64).collect();
    let total = parts.iter().sum::<f64>().round() as i64;
    let missing = (total - whole.iter().sum::<i64>()).max(0) as usize;
    let mut order: Vec<usize> = (0..parts.len()).collect();
    // In millionths of a dollar, so that parts with the same cents tie and the first is taken.
    let rest = |at: usize| ((parts[at] - parts[at].floor()) * 1e6).round() as i64;
    order.sort_by_key(|&at| (std::cmp::Reverse(rest(at)), at));
    for at in order.into_iter().take(missing) {
        whole[at] += 1;
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::rounded_to_sum;

    #[test]
    fn the_parts_add_up_to_the_rounded_total() {
        assert_eq!(rounded_to_sum(&[0.4, 0.4, 0.4]), [1, 0, 0]);
        assert_eq!(rounded_to_sum(&[10.6, 20.6, 30.6]), [11, 21, 30]);
        assert_eq!(rounded_to_sum(&[5.0, 7.0]), [5, 7]);
        assert_eq!(rounded_to_sum(&[]), Vec::<i64>::new());
    }
}
