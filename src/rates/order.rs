//! The order of fixes: gates first, then severity relieved per cost and effort; what must come first comes first.

use super::Fix;
use super::pending_rate::{PendingRate, number};
use super::zone_context::ZoneContext;
use crate::diagnosis::{Finding, Outcome};
use crate::rulebook::{Factor, FixRule, Occasion, Rulebook};
use crate::units::{MoneyPerArea, decimal, fixed};

/// A fix with what it relieves, for the budget.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    pub fix: Fix,
    /// The factors it mends, the severity of each and the share of it that the fix takes off.
    pub relieves: Vec<(Factor, f64, f64)>,
    is_blocking: bool,
}

/// The fixes of a zone in their order. `cost_of` is the cost per hectare of a pending rate.
pub(super) fn candidates(
    case: ZoneContext<'_>,
    pending: &[PendingRate],
    cost_of: impl Fn(&PendingRate) -> f64,
) -> Vec<Candidate> {
    let mut candidates: Vec<Candidate> = case
        .bench
        .rulebook
        .fixes
        .iter()
        .filter_map(|rule| candidate(case, rule, pending, &cost_of))
        .collect();
    set_prerequisites(case.bench.rulebook, &mut candidates);
    candidates.sort_by(|a, b| {
        b.is_blocking
            .cmp(&a.is_blocking)
            .then_with(|| b.fix.score.total_cmp(&a.fix.score))
            .then_with(|| a.fix.name.cmp(&b.fix.name))
    });
    prerequisites_first(candidates)
}

fn candidate(
    case: ZoneContext<'_>,
    rule: &FixRule,
    pending: &[PendingRate],
    cost_of: &impl Fn(&PendingRate) -> f64,
) -> Option<Candidate> {
    let mended = mended(case, rule);
    let answers_nothing = mended.is_empty();
    let is_starter = rule.product.as_deref() == Some(Rulebook::STARTER);
    if answers_nothing && !is_starter {
        return None;
    }
    let product_cost = match &rule.product {
        Some(name) => cost_of(
            pending
                .iter()
                .find(|pending| pending.product == *name && pending.amount > 0.0)?,
        ),
        None => 0.0,
    };
    let cost =
        MoneyPerArea::from_dollars_per_hectare(rule.cost.dollars_per_hectare() + product_cost);
    let numbers = &case.bench.rulebook.numbers;
    let severity_of = |finding: &Finding| {
        if rule.on == Occasion::Unknown {
            numbers.knowing_worth
        } else {
            finding.severity
        }
    };
    let worth = if answers_nothing {
        numbers.starter_worth
    } else {
        numbers.knowing_worth
    };
    let relieves: Vec<(Factor, f64, f64)> = match rule.mends.first() {
        Some(first) if answers_nothing => vec![(*first, worth, rule.relief)],
        _ => mended
            .iter()
            .map(|finding| (finding.factor, severity_of(finding), rule.relief))
            .collect(),
    };
    let worst = mended.iter().copied().max_by(|a, b| {
        a.severity
            .total_cmp(&b.severity)
            .then_with(|| b.factor.cmp(&a.factor))
    });
    let severity = worst.map_or(worth, severity_of);
    let (score, arithmetic) = score(case, rule, cost, &relieves);
    Some(Candidate {
        is_blocking: mended.iter().any(|finding| !finding.blocks.is_empty()),
        fix: Fix {
            name: rule.name.clone(),
            what: rule.what.clone(),
            factor: worst.map_or_else(
                || rule.mends.first().copied().unwrap_or(Factor::Phosphorus),
                |finding| finding.factor,
            ),
            product: rule.product.clone(),
            cost,
            effort: rule.effort,
            seasons: rule.seasons,
            severity,
            score,
            arithmetic,
            after: Vec::new(),
            basis: rule.basis,
            left_out: false,
        },
        relieves,
    })
}

/// The findings that a fix mends in a zone, one for each factor.
fn mended<'a>(case: ZoneContext<'a>, rule: &FixRule) -> Vec<&'a Finding> {
    let concerns = |finding: &&Finding| rule.answers(finding.factor, &finding.rule);
    let mut mended: Vec<&Finding> = Vec::new();
    let fits = |finding: &&Finding| match rule.on {
        Occasion::Limiting => finding.outcome == Outcome::Limiting,
        Occasion::Unknown => matches!(
            finding.outcome,
            Outcome::NotMeasured | Outcome::NotComparable
        ),
    };
    for finding in case.diagnosis.findings.iter().filter(fits).filter(concerns) {
        if !mended.iter().any(|known| known.factor == finding.factor) {
            mended.push(finding);
        }
    }
    mended
}

/// Severity relieved per hundred dollars of cost, effort and waiting, and its arithmetic.
fn score(
    case: ZoneContext<'_>,
    rule: &FixRule,
    cost: MoneyPerArea,
    relieves: &[(Factor, f64, f64)],
) -> (f64, String) {
    let (numbers, units) = (&case.bench.rulebook.numbers, case.bench.settings.units);
    let money = |amount: MoneyPerArea| amount.number_in(units);
    let effort = numbers.cost_of_effort * rule.effort;
    let waiting = numbers.cost_of_waiting * rule.seasons;
    let price = money(cost) + money(effort) + money(waiting);
    let relieved: f64 = relieves
        .iter()
        .map(|(_, severity, share)| severity * share)
        .sum();
    let score = 100.0 * relieved / price.max(0.01);
    let part = |(factor, severity, share): &(Factor, f64, f64)| {
        format!(
            "{} {} x {}",
            factor.name(),
            number(*severity),
            number(*share)
        )
    };
    let parts: Vec<String> = relieves.iter().map(part).collect();
    let arithmetic = format!(
        "({}) / (cost {} + effort {} x {} + {} x {} = {} {}) = {} per 100 USD",
        parts.join(" + "),
        fixed(money(cost), 2),
        decimal(rule.effort, 1),
        fixed(money(numbers.cost_of_effort), 2),
        seasons(rule.seasons),
        fixed(money(numbers.cost_of_waiting), 2),
        fixed(price, 2),
        MoneyPerArea::unit_in(units),
        decimal(score, 3)
    );
    (score, arithmetic)
}

fn seasons(count: f64) -> String {
    let word = if count == 1.0 { "season" } else { "seasons" };
    format!("{} {word}", decimal(count, 1))
}

/// Moves each fix behind those that must come before it, and keeps the order otherwise.
fn prerequisites_first(mut waiting: Vec<Candidate>) -> Vec<Candidate> {
    let names: Vec<String> = waiting
        .iter()
        .map(|candidate| candidate.fix.name.clone())
        .collect();
    let mut ordered: Vec<Candidate> = Vec::with_capacity(waiting.len());
    while !waiting.is_empty() {
        let is_ready = |candidate: &Candidate| {
            candidate.fix.after.iter().all(|before| {
                !names.contains(before) || ordered.iter().any(|done| done.fix.name == *before)
            })
        };
        // A ring of prerequisites has no first; then the order of the scores holds.
        let next = waiting.iter().position(is_ready).unwrap_or(0);
        ordered.push(waiting.remove(next));
    }
    ordered
}

/// Keeps of each fix's prerequisites those that the zone needs too.
fn set_prerequisites(rulebook: &Rulebook, candidates: &mut [Candidate]) {
    let names: Vec<String> = candidates
        .iter()
        .map(|candidate| candidate.fix.name.clone())
        .collect();
    for candidate in candidates {
        let rule = rulebook
            .fixes
            .iter()
            .find(|rule| rule.name == candidate.fix.name);
        candidate.fix.after = rule
            .map(|rule| {
                rule.after
                    .iter()
                    .filter(|name| names.contains(name))
                    .cloned()
                    .collect()
            })
            .unwrap_or_default();
    }
}
