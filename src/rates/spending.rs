//! The budget laid over the fixes of all zones.

use super::budget::{self, Item, Relief};
use super::order::Candidate;
use super::pending_rate::PendingRate;
use super::rounding;
use super::tests_to_run::ZoneTest;
use super::zone_context::FieldContext;
use super::{BudgetOutcome, Fix, Offers};
use crate::plan::FarmBudget;
use crate::rulebook::Factor;
use crate::units::{MoneyPerArea, UnitSystem};

/// Most points of a field's frontier that are kept beside its hull.
pub(super) const MOST_POINTS: usize = 200;

/// A zone under the budget.
pub(super) struct ZonePlan {
    pub number: u32,
    pub hectares: f64,
    pub pending: Vec<PendingRate>,
    pub candidates: Vec<Candidate>,
    pub tests: Vec<ZoneTest>,
    pub cautions: Vec<String>,
}

/// Cents that a cost per hectare is in a zone, rounded up so that the limit is never passed.
fn cents(cost: MoneyPerArea, hectares: f64) -> u64 {
    cents_up(cost.dollars_per_hectare() * hectares)
}

/// Relief with severity x area as a whole number: a millionth of a hectare of full severity.
pub(super) fn share_of(
    (factor, severity, share): (Factor, f64, f64),
    hectares: f64,
    lasts: f64,
) -> Relief {
    Relief {
        factor: factor as usize,
        severity: (severity * hectares * 1e6).round().max(0.0) as u64,
        share,
        lasts,
    }
}

/// What money would buy on the field beside the consultant's rates: cost and worth, within what the plan's own budget leaves. Nothing
/// where no farm asks.
pub(super) fn offers(field: &FieldContext<'_>, zones: &[ZonePlan]) -> Offers {
    if field.settings.farm.budget != FarmBudget::Asked {
        return Offers::default();
    }
    let hectares: f64 = zones.iter().map(|zone| zone.hectares).sum();
    let decided: f64 = zones.iter().map(|zone| decided_cost(field, zone)).sum();
    let open = field.settings.budget.map_or(u64::MAX, |limit| {
        whole_cents(limit.dollars_per_hectare() * hectares - decided)
    });
    let items: Vec<Vec<Item>> = zones.iter().map(items).collect();
    let (frontier, loss) = budget::frontier(&items, open, MOST_POINTS);
    Offers {
        decided_cents: cents_up(decided),
        spent_cents: 0,
        frontier,
        loss,
        stock: Vec::new(),
    }
}

/// Cents that pay a sum of money, rounded up.
pub(super) fn cents_up(dollars: f64) -> u64 {
    (dollars * 100.0 - 1e-6).ceil().max(0.0) as u64
}

/// Cents that a sum of money holds, rounded down.
fn whole_cents(dollars: f64) -> u64 {
    (dollars * 100.0 + 1e-6).floor().max(0.0) as u64
}

/// Marks what the budget leaves out and takes its products off. The consultant's rates are spent first, as they are applied: they are never
/// left out, and only what they leave of the limit buys the rest. `None` where the plan sets no budget.
pub(super) fn apply(field: &FieldContext<'_>, zones: &mut [ZonePlan]) -> Option<BudgetOutcome> {
    let limit = field.settings.budget?;
    let hectares: f64 = zones.iter().map(|zone| zone.hectares).sum();
    let reserved: f64 = zones.iter().map(|zone| decided_cost(field, zone)).sum();
    let open = limit.dollars_per_hectare() * hectares - reserved;
    let items: Vec<Vec<Item>> = zones.iter().map(items).collect();
    let chosen = budget::choose(&items, whole_cents(open));
    let mut left_out: Vec<(f64, String)> = Vec::new();
    for (zone, chosen) in zones.iter_mut().zip(chosen) {
        let weighed = zone
            .candidates
            .iter_mut()
            .filter(|candidate| is_weighed(candidate));
        for (candidate, is_chosen) in weighed.zip(chosen) {
            let fix = &mut candidate.fix;
            if is_chosen || fix.cost.dollars_per_hectare() <= 0.0 {
                continue;
            }
            fix.left_out = true;
            let worth: f64 = candidate
                .relieves
                .iter()
                .map(|(_, severity, share)| severity * share)
                .sum();
            let units = field.settings.units;
            let money = format!(
                "{}, {} a year",
                fix.cost.show(units, 2),
                fix.cost_a_year.show(units, 2)
            );
            left_out.push((
                worth / fix.cost_a_year.dollars_per_hectare(),
                format!("zone {}: {} ({money})", zone.number, lower(&fix.what)),
            ));
            take_off(fix, &mut zone.pending, field.settings.units);
        }
    }
    let best = left_out
        .iter()
        .max_by(|a, b| a.0.total_cmp(&b.0).then_with(|| b.1.cmp(&a.1)));
    let next = best.map(|(_, what)| what.clone());
    Some(BudgetOutcome {
        limit,
        spent: MoneyPerArea::ZERO,
        left_out: left_out.into_iter().map(|(_, what)| what).collect(),
        next,
        is_share: field.settings.farm.budget == FarmBudget::Share,
    })
}

/// Whether the budget weighs a fix: not a test, and not what the consultant has decided.
pub(super) fn is_weighed(candidate: &Candidate) -> bool {
    !candidate.fix.is_test && !candidate.is_decided
}

/// Cost of the consultant's rates in a zone, with what spreading them costs besides, United States dollars.
fn decided_cost(field: &FieldContext<'_>, zone: &ZonePlan) -> f64 {
    let decided = zone.pending.iter().filter(|rate| rate.overridden.is_some());
    let products: f64 = decided
        .map(|rate| field.cost_of(&rate.product, rate.amount))
        .sum();
    products * zone.hectares
}

fn items(zone: &ZonePlan) -> Vec<Item> {
    let weighed = || {
        zone.candidates
            .iter()
            .filter(|candidate| is_weighed(candidate))
    };
    let position = |name: &String| weighed().position(|candidate| candidate.fix.name == *name);
    weighed()
        .map(|candidate| Item {
            cents: cents(candidate.fix.cost, zone.hectares),
            relieves: candidate
                .relieves
                .iter()
                .map(|relief| share_of(*relief, zone.hectares, candidate.lasts))
                .collect(),
            needs: candidate.fix.after.iter().filter_map(position).collect(),
        })
        .collect()
}

fn take_off(fix: &Fix, pending: &mut [PendingRate], units: UnitSystem) {
    let pending = fix
        .product
        .as_ref()
        .and_then(|name| pending.iter_mut().find(|pending| pending.product == *name));
    if let Some(pending) = pending.filter(|pending| pending.amount > 0.0) {
        let rate = rounding::show(pending.amount, pending.metering, units);
        pending.hold_back(format!(
            "left out: the budget goes further elsewhere ({rate} would cost {})",
            fix.cost.show(units, 2)
        ));
    }
}

fn lower(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_lowercase().chain(letters).collect())
        .unwrap_or_default()
}
