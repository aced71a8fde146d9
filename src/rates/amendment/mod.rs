//! Amendments: what the chemistry asks for, product by product. Each file returns a need; caps, staging and rounding are the same for all.

mod carbon;
mod gypsum;
mod lime;
mod phosphate_rock;
mod sulfur;

use super::material::Material;
use super::pending_rate::{Need, PendingRate};
use super::zone_context::ZoneContext;

pub(super) use lime::LimeRules;

/// The pending rates of all amendments of a zone, in the order of their columns.
pub(super) fn pending(case: ZoneContext<'_>) -> Vec<PendingRate> {
    let mut pending = lime::pending(case);
    let calcium_of_lime = lime::calcium_kg_ha(case, &pending);
    let gypsum = gypsum::pending(case, calcium_of_lime);
    let sulfur_of_gypsum = gypsum::sulfur_kg_ha(case, gypsum.as_ref());
    pending.extend(gypsum);
    pending.extend(carbon::pending(case));
    let rock = phosphate_rock::pending(case, &pending);
    pending.extend(rock);
    let sulfur = sulfur::pending(case, sulfur_of_gypsum, &pending);
    pending.extend(sulfur);
    pending
}

/// The pending rate of a product that the rulebook has, unless the zone does not take it; `others` are given with it.
fn pending_rate(
    case: ZoneContext<'_>,
    name: &str,
    others: &[PendingRate],
    need: impl FnOnce() -> Need,
) -> Option<PendingRate> {
    let product = case.field.rulebook.product(name)?;
    let need = need();
    let is_wanted = need.rate > 0.0;
    let mut pending = PendingRate::of_need(case, product, need, others);
    if is_wanted && let Some(finding) = case.closed_by(Material::Product(product)) {
        pending.hold_back(format!(
            "held back by {}: {}",
            finding.factor.name(),
            finding.sentence
        ));
    }
    Some(pending)
}
