//! Amendments: what the chemistry asks for, product by product. Each file returns a need; caps, staging and rounding are the same for all.

mod carbon;
mod gypsum;
mod lime;
mod phosphate_rock;
mod sulfur;

use super::pending_rate::{Need, PendingRate};
use super::zone_context::ZoneContext;

pub(super) use lime::LimeRules;

/// The pending rates of all amendments of a zone, in the order of their columns.
pub(super) fn pending(case: ZoneContext<'_>, lime_rules: &LimeRules) -> Vec<PendingRate> {
    let mut pending = lime::pending(case, lime_rules);
    let calcium_of_lime = lime::calcium_kg_ha(case, &pending);
    let gypsum = gypsum::pending(case, calcium_of_lime);
    let sulfur_of_gypsum = gypsum::sulfur_kg_ha(case, gypsum.as_ref());
    pending.extend(gypsum);
    pending.extend(carbon::pending(case));
    pending.extend(phosphate_rock::pending(case));
    pending.extend(sulfur::pending(case, sulfur_of_gypsum));
    pending
}

/// The pending rate of a product that the rulebook has, unless the zone does not take it.
fn pending_rate(
    case: ZoneContext<'_>,
    name: &str,
    need: impl FnOnce() -> Need,
) -> Option<PendingRate> {
    let product = case.bench.rulebook.product(name)?;
    let need = need();
    let is_wanted = need.rate > 0.0;
    let mut pending = PendingRate::of_need(case, product, need);
    if is_wanted && let Some(why) = case.unmet(&product.only_where) {
        pending.hold_back(format!("not here: {why}"));
    }
    if is_wanted && let Some(finding) = case.closed_by(name, product.carries_salt) {
        pending.hold_back(format!(
            "held back by {}: {}",
            finding.factor.name(),
            finding.sentence
        ));
    }
    Some(pending)
}
