//! Amendments: what the chemistry asks for, product by product. Each file returns a need; caps, staging and rounding are the same for all.

mod carbon;
mod gypsum;
mod lime;
mod phosphate_rock;
mod reading;
mod sulfur;
mod texture_guide;

use super::material::Material;
use super::own_evidence::tell_own_trials;
use super::pending_rate::{Need, PendingRate};
use super::zone_context::ZoneContext;
use crate::rulebook::Factor;

/// The pending rates of lime, gypsum and carbon of a zone, in the order of their columns.
pub(super) fn pending(case: ZoneContext<'_>) -> Vec<PendingRate> {
    let mut pending = lime::pending(case);
    let calcium_of_lime = lime::calcium_kg_ha(case, &pending);
    pending.extend(gypsum::pending(case, calcium_of_lime));
    pending.extend(carbon::pending(case));
    pending
}

/// The pending rate of a product of the nutrient mix.
pub(super) fn of_mix(
    case: ZoneContext<'_>,
    product: &str,
    others: &[PendingRate],
    need: Need,
) -> Option<PendingRate> {
    pending_rate(case, product, others, || need)
}

/// What works slowly, for what the mix has left: phosphate rock and elemental sulfur.
pub(super) fn slow(case: ZoneContext<'_>, others: &[PendingRate]) -> Vec<PendingRate> {
    let gypsum = others.iter().find(|rate| rate.product == "gypsum");
    let sulfur_of_gypsum = gypsum::sulfur_kg_ha(case, gypsum);
    let mut slow = Vec::new();
    let goes_out_for = |factor: Factor| {
        let fixes = || case.field.rulebook.fixes.iter();
        let is_mixed = |rate: &&PendingRate| {
            let product = case.field.rulebook.product(&rate.product);
            rate.amount > 0.0 && product.is_some_and(|product| !product.feeds.is_empty())
        };
        others.iter().filter(is_mixed).any(|rate| {
            fixes().any(|fix| {
                fix.product.as_ref() == Some(&rate.product) && fix.mends.contains(&factor)
            })
        })
    };
    if !goes_out_for(Factor::Phosphorus) {
        slow.extend(phosphate_rock::pending(case, others));
    }
    let so_far: Vec<PendingRate> = others.iter().chain(&slow).cloned().collect();
    slow.extend(sulfur::pending(case, sulfur_of_gypsum, &so_far));
    slow
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
    tell_own_trials(case, &mut pending);
    Some(pending)
}
