//! What money that is left over buys in part: a smaller dressing of lime this season, the rest in later ones.

use super::order::Candidate;
use super::pending_rate::PendingRate;
use super::rounding::down_to_step;
use super::zone_context::FieldContext;
use super::zone_plan::{ZonePlan, cents_up};
use crate::plan::FarmBudget;
use crate::units::MoneyPerArea;

/// A fix that the budget leaves out, by zone and place, with what it relieves for its money.
#[derive(Debug, Clone, Copy)]
struct LeftOut {
    zone: usize,
    at: usize,
    worth_a_dollar: f64,
}

/// Buys parts of what was left out, what relieves most for its money first; tells what stays left out of them. Lime alone: a part of it does its
/// share and the rest may follow, as where a season's cap spreads it over several. A farm shares its money out over whole fixes.
pub(super) fn buy(field: &FieldContext<'_>, zones: &mut [ZonePlan], mut cents: u64) -> Vec<String> {
    if field.settings.farm.budget != FarmBudget::None {
        return Vec::new();
    }
    let mut waiting: Vec<LeftOut> = zones
        .iter()
        .enumerate()
        .flat_map(|(zone, plan)| {
            let candidates = plan.candidates.iter().enumerate();
            let left_out = candidates.filter(|(_, candidate)| candidate.fix.left_out);
            left_out.map(move |(at, candidate)| LeftOut {
                zone,
                at,
                worth_a_dollar: candidate.worth_a_dollar(),
            })
        })
        .collect();
    waiting.sort_by(|a, b| {
        let by_worth = b.worth_a_dollar.total_cmp(&a.worth_a_dollar);
        by_worth.then((a.zone, a.at).cmp(&(b.zone, b.at)))
    });
    let mut rests = Vec::new();
    for LeftOut { zone, at, .. } in waiting {
        if let Some(part) = part(field, &zones[zone], at, cents) {
            cents -= part.cents;
            rests.push(part.take(field, &mut zones[zone], at));
        }
    }
    rests
}

/// A part of a dressing that the money pays.
struct Part {
    /// Where its rate stands among the zone's.
    pending: usize,
    rate: f64,
    /// United States dollars per hectare, with the work.
    cost: f64,
    cents: u64,
}

/// The largest part of a fix's product that some cents pay; `None` where that is less than spreads evenly, or no part of it helps.
fn part(field: &FieldContext<'_>, zone: &ZonePlan, at: usize, cents: u64) -> Option<Part> {
    let fix = &zone.candidates.get(at)?.fix;
    let name = fix.product.as_ref()?;
    let product = field.rulebook.product(name)?;
    let waits = |other: &Candidate| other.fix.left_out && fix.after.contains(&other.fix.name);
    if product.effective_neutralizing_value <= 0.0 || zone.candidates.iter().any(waits) {
        return None;
    }
    let pending = zone.pending.iter().position(|rate| rate.product == *name)?;
    let full = zone.pending[pending].amount;
    let of_product = field.cost_of(name, full);
    if full <= 0.0 || of_product <= 0.0 {
        return None;
    }
    let work = (fix.cost.dollars_per_hectare() - of_product).max(0.0);
    let open = cents as f64 / 100.0 / zone.hectares - work;
    let step = field.steps.of_metering(product.metering);
    let rate = down_to_step(full * open / of_product, step);
    let is_spreadable = rate > 0.0 && rate >= product.smallest * (1.0 - 1e-9);
    let cost = work + field.cost_of(name, rate);
    let part = Part {
        pending,
        rate,
        cost,
        cents: cents_up(cost * zone.hectares),
    };
    (is_spreadable && rate < full && part.cents <= cents).then_some(part)
}

impl Part {
    /// Puts the part in the place of the whole; tells what of it stays left out.
    fn take(self, field: &FieldContext<'_>, zone: &mut ZonePlan, at: usize) -> String {
        let units = field.settings.units;
        let rate = &mut zone.pending[self.pending];
        let show = |amount: f64| super::rounding::show(amount, rate.metering, units);
        let (whole, bought) = (show(rate.amount), show(self.rate));
        let fix = &mut zone.candidates[at].fix;
        let share = self.cost / fix.cost.dollars_per_hectare();
        let rest = fix.cost.dollars_per_hectare() - self.cost;
        let words = format!(
            "zone {}: {} of the {whole} of {} ({} more)",
            zone.number,
            show(rate.amount - self.rate),
            rate.product.words(),
            MoneyPerArea::from_dollars_per_hectare(rest).show(units, 2)
        );
        rate.spread_over_seasons(self.rate);
        rate.steps.push(format!(
            "the budget buys {bought} of the {whole} of this season; the rest over {} more",
            rate.seasons_after
        ));
        fix.left_out = false;
        fix.cost = MoneyPerArea::from_dollars_per_hectare(self.cost);
        fix.cost_a_year = fix.cost_a_year * share;
        fix.arithmetic.push_str("; the budget buys a part of it");
        words
    }
}

impl PendingRate {
    /// Less than was to go out, the rest of the need at as much in each further season.
    fn spread_over_seasons(&mut self, rate: f64) {
        self.amount = rate;
        self.seasons_after = super::need_in_caps::seasons_for(self.needed - rate, rate);
    }
}
