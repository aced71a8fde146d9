//! Money that works over years, brought to one year, so that a lime dressing and a foliar feed can be compared.

use super::seed_safe::sandy_by_texture;
use super::zone_context::ZoneContext;
use crate::rulebook::FixRule;
use crate::units::{MoneyPerArea, decimal, fixed};

/// What a spend of some years costs in each of them.
///
/// `C i / (1 - (1 + i)^-n)`, paid at the end of each year; `C / n` without interest.
///
/// # Units
/// Interest in percent a year.
///
/// # Source
/// Washington State University, class notes on amortising the cost of an establishment over its years.
pub(super) fn a_year(cost: f64, interest_pct: f64, years: f64) -> f64 {
    cost / present_value(interest_pct, years)
}

/// What a dollar at the end of each of some years is worth today: `(1 - (1 + i)^-n) / i`.
pub(super) fn present_value(interest_pct: f64, years: f64) -> f64 {
    let interest = interest_pct / 100.0;
    if interest <= 0.0 {
        return years;
    }
    (1.0 - libm::pow(1.0 + interest, -years)) / interest
}

/// The part of a product that builds a soil test up, and the years that it serves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct BuildUp {
    /// Share of the product, 0 to 1.
    pub share: f64,
    /// Years of the build-up table.
    pub years: f64,
}

/// How long a fix works in a zone.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lasting {
    /// Percent a year.
    pub interest: f64,
    pub years: f64,
    pub build: Option<BuildUp>,
}

impl Lasting {
    /// The years of a fix in a zone.
    pub fn of(case: ZoneContext<'_>, rule: &FixRule, build: Option<BuildUp>) -> Self {
        let is_sandy = || sandy_by_texture(case) == Some(true);
        let on_sand = rule.years_on_sand.filter(|_| is_sandy());
        let supply = &case.field.settings.supply;
        let usual = case.field.rulebook.numbers.interest;
        Self {
            interest: supply.interest.unwrap_or(usual),
            years: on_sand.unwrap_or(rule.years),
            build: build.filter(|build| build.share > 0.0),
        }
    }

    /// Cost of a year of what the fix costs.
    pub fn cost_a_year(&self, cost: MoneyPerArea) -> MoneyPerArea {
        let cost = cost.dollars_per_hectare();
        let built = self.build.map_or(0.0, |build| build.share);
        let years = self.build.map_or(self.years, |build| build.years);
        let dollars = a_year(cost * (1.0 - built), self.interest, self.years)
            + a_year(cost * built, self.interest, years);
        MoneyPerArea::from_dollars_per_hectare(dollars)
    }

    /// Cost of a year of the work itself.
    pub fn work_a_year(&self, cost: MoneyPerArea) -> MoneyPerArea {
        let dollars = a_year(cost.dollars_per_hectare(), self.interest, self.years);
        MoneyPerArea::from_dollars_per_hectare(dollars)
    }

    /// What a relief in each of its years is worth today, in years.
    pub fn worth(&self) -> f64 {
        let plain = present_value(self.interest, self.years);
        self.build.map_or(plain, |build| {
            let built = present_value(self.interest, build.years);
            build.share * built + (1.0 - build.share) * plain
        })
    }

    /// "over 5 years at 6 %".
    pub fn words(&self) -> String {
        let years = |count: f64| {
            let word = if count == 1.0 { "year" } else { "years" };
            format!("{} {word}", decimal(count, 1))
        };
        let interest = decimal(self.interest, 2);
        match self.build {
            None => format!("over {} at {interest} %", years(self.years)),
            Some(build) => format!(
                "({} % of it builds the test up, over {}; the rest over {}) at {interest} %",
                fixed(100.0 * build.share, 0),
                years(build.years),
                years(self.years)
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{BuildUp, Lasting, a_year, present_value};

    /// Washington State University class notes: the form of the annuity; 70 USD at 8 % over 5 and 8 years computed by it: 17.532 and 12.181.
    #[test]
    fn seventy_dollars_over_years_cost_what_the_annuity_says() {
        assert!((a_year(70.0, 8.0, 5.0) - 17.532).abs() < 0.001);
        assert!((a_year(70.0, 8.0, 8.0) - 12.181).abs() < 0.001);
        assert!((a_year(70.0, 0.0, 5.0) - 14.0).abs() < 1e-12);
        assert!((a_year(70.0, 8.0, 1.0) - 75.6).abs() < 1e-9);
    }

    /// -70 + 27 a year over 5 years at 8 % = 37.803 (derived from the same form).
    #[test]
    fn the_worth_of_five_years_is_that_of_its_payments() {
        assert!((27.0 * present_value(8.0, 5.0) - 70.0 - 37.803).abs() < 0.001);
    }

    /// 40 % over 4 years and 60 % over one, at 6 %: 0.4 x 3.465106 + 0.6 x 0.943396 (present value of 1 a year, by the same form).
    #[test]
    fn what_builds_up_is_worth_its_parts_over_their_years() {
        let lasting = Lasting {
            interest: 6.0,
            years: 1.0,
            build: Some(BuildUp {
                share: 0.4,
                years: 4.0,
            }),
        };
        assert!(
            (lasting.worth() - 1.952_080).abs() < 1e-5,
            "{}",
            lasting.worth()
        );
    }
}
