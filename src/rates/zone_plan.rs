//! What is worked out for a zone before the budget and the totals: its rates, fixes, tests and cautions.

use super::order::Candidate;
use super::pending_rate::PendingRate;
use super::tests_to_run::ZoneTest;

/// A zone under the budget.
pub(super) struct ZonePlan {
    pub number: u32,
    pub hectares: f64,
    pub pending: Vec<PendingRate>,
    pub candidates: Vec<Candidate>,
    pub tests: Vec<ZoneTest>,
    pub cautions: Vec<String>,
}

/// Cents that pay a sum of money, rounded up.
pub(super) fn cents_up(dollars: f64) -> u64 {
    (dollars * 100.0 - 1e-6).ceil().max(0.0) as u64
}
