//! What is worked out for a zone before the budget and the totals: its rates, fixes, tests and cautions.

use super::nutrients::Met;
use super::order::Candidate;
use super::pending_rate::PendingRate;
use super::tests_to_run::ZoneTest;
use super::zone_context::FieldContext;
use super::{Fix, UnmetNeed};

/// A zone under the budget.
pub(super) struct ZonePlan {
    pub number: u32,
    pub hectares: f64,
    pub pending: Vec<PendingRate>,
    pub candidates: Vec<Candidate>,
    pub tests: Vec<ZoneTest>,
    pub cautions: Vec<String>,
    /// How far the mix meets each need.
    pub met: Vec<Met>,
    pub unmet: Vec<UnmetNeed>,
}

impl ZonePlan {
    /// Cost of all products, United States dollars per hectare.
    pub fn products_cost(&self, field: &FieldContext<'_>) -> f64 {
        self.pending
            .iter()
            .map(|rate| field.cost_of(&rate.product, rate.amount))
            .sum()
    }

    /// Cost of the fixes in force that are no products and no tests, United States dollars per hectare.
    pub fn other_cost(&self) -> f64 {
        let is_other = |fix: &&Fix| fix.product.is_none() && !fix.left_out && !fix.is_test;
        self.candidates
            .iter()
            .map(|candidate| &candidate.fix)
            .filter(is_other)
            .map(|fix| fix.cost.dollars_per_hectare())
            .sum()
    }
}

/// Cents that pay a sum of money, rounded up.
pub(super) fn cents_up(dollars: f64) -> u64 {
    (dollars * 100.0 - 1e-6).ceil().max(0.0) as u64
}
