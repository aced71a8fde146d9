//! What would be spent on a factor that is not known, if it were as bad as its rule can tell: the rates of the zone are worked out once more
//! with that value.

use super::pending_rate::PendingRate;
use super::zone_context::{FieldContext, ZoneContext};
use super::{amendment, last_gate, nutrients, starter};
use crate::analyte::LayerKey;
use crate::diagnosis::{Outcome, ZoneDiagnosis};
use crate::rulebook::{Factor, FixRule};

/// Money that would be spent more than without it, United States dollars per hectare; for work alone, the dearest of the fixes that need no
/// product. `None` where no rule says what the worst value is, or a rate that answers it cannot be told without more tests.
pub(super) fn dollars_per_hectare(case: ZoneContext<'_>, factor: Factor) -> Option<f64> {
    let diagnosis = at_its_worst(case, factor)?;
    let worst = ZoneContext {
        field: case.field,
        diagnosis: &diagnosis,
    };
    let rates = rates(worst);
    let answers = |rate: &&PendingRate| {
        let mut answered = worst.answered_by(&rate.product);
        answered.any(|finding| finding.factor == factor)
    };
    if rates.iter().filter(answers).any(|rate| rate.is_unknown) {
        return None;
    }
    let more = cost(case.field, &rates) - cost(case.field, &self::rates(case));
    Some(work_on(case.field, factor).max(more))
}

/// The zone with the factor at the worst value of the rule that is not answered.
fn at_its_worst(case: ZoneContext<'_>, factor: Factor) -> Option<ZoneDiagnosis> {
    let mut diagnosis = case.diagnosis.clone();
    let mut findings = diagnosis.findings.iter_mut();
    let finding = findings.find(|known| known.factor == factor && known.not_known.is_some())?;
    let rulebook = case.field.rulebook;
    let rule = rulebook.rule(&finding.rule)?;
    let is_taken = finding.layer.as_ref().is_some_and(|key| rule.takes(key));
    if !is_taken {
        let method = rule.methods.first().cloned();
        let depth = rule.depths.first().copied();
        finding.layer = Some(LayerKey::new(rule.analyte.clone(), method, depth));
    }
    finding.outcome = Outcome::Limiting;
    finding.value = Some(rule.worst_for(&case.field.crop.name));
    finding.severity = rule.most;
    finding.not_known = None;
    Some(diagnosis)
}

/// What would go out in a zone, inside its caps and without the consultant's word.
fn rates(case: ZoneContext<'_>) -> Vec<PendingRate> {
    let starter = case
        .field
        .blend
        .map(|blend| starter::pending(case, blend).0);
    let mut rates: Vec<PendingRate> = starter.into_iter().collect();
    rates.extend(amendment::pending(case));
    let needs = nutrients::needs(case, &rates);
    let mixed = nutrients::mix(case.field, &[(case, needs, rates.as_slice())]);
    let wanted = mixed.into_iter().flat_map(|mixed| mixed.rates);
    let of_mix: Vec<PendingRate> = wanted
        .filter_map(|(product, need)| amendment::of_mix(case, &product, &rates, need))
        .collect();
    rates.extend(of_mix);
    let slow = amendment::slow(case, &rates);
    rates.extend(slow);
    // What is said of the gates is said of the zone as it is.
    let _remarks = last_gate::pass(case, &mut rates, &[]);
    rates
}

fn cost(field: &FieldContext<'_>, rates: &[PendingRate]) -> f64 {
    let of_rate = |rate: &PendingRate| field.cost_of(&rate.product, rate.amount);
    rates.iter().map(of_rate).sum()
}

/// The dearest of a factor's fixes that need no product.
fn work_on(field: &FieldContext<'_>, factor: Factor) -> f64 {
    let is_work = |fix: &&FixRule| fix.product.is_none() && fix.mends.contains(&factor);
    let fixes = field.rulebook.fixes.iter().filter(is_work);
    fixes
        .map(|fix| fix.cost.dollars_per_hectare())
        .fold(0.0, f64::max)
}
