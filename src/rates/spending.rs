//! The budget laid over the fixes of all zones.

use super::budget::{self, Item, Relief};
use super::in_part;
use super::order::Candidate;
use super::pending_rate::PendingRate;
use super::rounding;
use super::zone_context::FieldContext;
use super::zone_plan::{ZonePlan, cents_up};
use super::{BudgetOutcome, Fix, Offers};
use crate::plan::FarmBudget;
use crate::rulebook::Factor;
use crate::units::{MoneyPerArea, UnitSystem};

/// Most points of a field's frontier that are kept beside its hull.
pub(super) const MOST_POINTS: usize = 200;

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
    let open = whole_cents(limit.dollars_per_hectare() * hectares - reserved);
    let items: Vec<Vec<Item>> = zones.iter().map(items).collect();
    let chosen = budget::choose(&items, open);
    let bought: u64 = (items.iter().flatten())
        .zip(chosen.iter().flatten())
        .filter_map(|(item, is_chosen)| is_chosen.then_some(item.cents))
        .sum();
    for (zone, chosen) in zones.iter_mut().zip(chosen) {
        let candidates = zone.candidates.iter_mut();
        let weighed = candidates.filter(|candidate| is_weighed(candidate));
        for (candidate, is_chosen) in weighed.zip(chosen) {
            let fix = &mut candidate.fix;
            fix.left_out = !is_chosen && fix.cost.dollars_per_hectare() > 0.0;
        }
    }
    let rests = in_part::buy(field, zones, open.saturating_sub(bought));
    let mut left_out = Vec::new();
    for zone in zones {
        take_off_what_is_left_out(field, zone, (open, bought), &mut left_out);
    }
    let best = left_out
        .iter()
        .max_by(|a, b| a.0.total_cmp(&b.0).then_with(|| b.1.cmp(&a.1)));
    // The rest of what is bought in part is what the next money goes to.
    let next = rests.first().cloned().or_else(|| Some(best?.1.clone()));
    let whole = left_out.into_iter().map(|(_, what)| what);
    Some(BudgetOutcome {
        limit,
        spent: MoneyPerArea::ZERO,
        left_out: rests.into_iter().chain(whole).collect(),
        next,
        is_share: field.settings.farm.budget == FarmBudget::Share,
    })
}

/// Takes the products of what the budget leaves out off a zone, and tells what it is, with what it relieves for its money.
fn take_off_what_is_left_out(
    field: &FieldContext<'_>,
    zone: &mut ZonePlan,
    (open, bought): (u64, u64),
    left_out: &mut Vec<(f64, String)>,
) {
    let units = field.settings.units;
    let candidates = zone.candidates.iter();
    for candidate in candidates.filter(|candidate| candidate.fix.left_out) {
        let fix = &candidate.fix;
        let money = format!(
            "{}, {} a year",
            fix.cost.show(units, 2),
            fix.cost_a_year.show(units, 2)
        );
        left_out.push((
            candidate.worth_a_dollar(),
            format!("zone {}: {} ({money})", zone.number, lower(&fix.what)),
        ));
        let why = if cents(fix.cost, zone.hectares) > open || bought == 0 {
            "the budget does not reach"
        } else {
            "the budget goes further elsewhere"
        };
        take_off(fix, &mut zone.pending, units, why);
    }
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

fn take_off(fix: &Fix, pending: &mut [PendingRate], units: UnitSystem, why: &str) {
    let pending = fix
        .product
        .as_ref()
        .and_then(|name| pending.iter_mut().find(|pending| pending.product == *name));
    if let Some(pending) = pending.filter(|pending| pending.amount > 0.0) {
        let rate = rounding::show(pending.amount, pending.metering, units);
        pending.hold_back(format!(
            "left out: {why} ({rate} would cost {})",
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
