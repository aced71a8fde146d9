//! The budget laid over the fixes of all zones.

use super::budget::{self, Item, Relief};
use super::order::Candidate;
use super::pending_rate::PendingRate;
use super::rounding;
use super::{BudgetOutcome, Fix};
use crate::plan::Settings;
use crate::rulebook::Factor;
use crate::units::{MoneyPerArea, UnitSystem};

/// A zone under the budget.
pub(super) struct ZonePlan {
    pub number: u32,
    pub hectares: f64,
    pub pending: Vec<PendingRate>,
    pub candidates: Vec<Candidate>,
}

/// Cents that a cost per hectare is in a zone, rounded up so that the limit is never passed.
fn cents(cost: MoneyPerArea, hectares: f64) -> u64 {
    (cost.dollars_per_hectare() * hectares * 100.0 - 1e-6)
        .ceil()
        .max(0.0) as u64
}

/// Relief with severity x area as a whole number: a millionth of a hectare of full severity.
fn share_of((factor, severity, share): (Factor, f64, f64), hectares: f64) -> Relief {
    Relief {
        factor: factor as usize,
        severity: (severity * hectares * 1e6).round().max(0.0) as u64,
        share,
    }
}

/// Marks what the budget leaves out and takes its products off. `None` where the plan sets no budget.
pub(super) fn apply(settings: &Settings, zones: &mut [ZonePlan]) -> Option<BudgetOutcome> {
    let limit = settings.budget?;
    let hectares: f64 = zones.iter().map(|zone| zone.hectares).sum();
    let items: Vec<Vec<Item>> = zones.iter().map(items).collect();
    let chosen = budget::choose(
        &items,
        (limit.dollars_per_hectare() * hectares * 100.0 + 1e-6)
            .floor()
            .max(0.0) as u64,
    );
    let mut left_out: Vec<(f64, String)> = Vec::new();
    let mut spent = 0.0;
    for (zone, chosen) in zones.iter_mut().zip(chosen) {
        for (candidate, is_chosen) in zone.candidates.iter_mut().zip(chosen) {
            let fix = &mut candidate.fix;
            if is_chosen || fix.cost.dollars_per_hectare() <= 0.0 {
                spent += fix.cost.dollars_per_hectare() * zone.hectares;
                continue;
            }
            fix.left_out = true;
            let worth: f64 = candidate
                .relieves
                .iter()
                .map(|(_, severity, share)| severity * share)
                .sum();
            let money = fix.cost.show(settings.units, 2);
            left_out.push((
                worth / fix.cost.dollars_per_hectare(),
                format!("zone {}: {} ({money})", zone.number, lower(&fix.what)),
            ));
            take_off(fix, &mut zone.pending, settings.units);
        }
    }
    let best = left_out
        .iter()
        .max_by(|a, b| a.0.total_cmp(&b.0).then_with(|| b.1.cmp(&a.1)));
    let next = best.map(|(_, what)| what.clone());
    Some(BudgetOutcome {
        limit,
        spent: MoneyPerArea::from_dollars_per_hectare(if hectares > 0.0 {
            spent / hectares
        } else {
            0.0
        }),
        left_out: left_out.into_iter().map(|(_, what)| what).collect(),
        next,
    })
}

fn items(zone: &ZonePlan) -> Vec<Item> {
    let position = |name: &String| {
        zone.candidates
            .iter()
            .position(|candidate| candidate.fix.name == *name)
    };
    zone.candidates
        .iter()
        .map(|candidate| Item {
            cents: cents(candidate.fix.cost, zone.hectares),
            relieves: candidate
                .relieves
                .iter()
                .map(|relief| share_of(*relief, zone.hectares))
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
