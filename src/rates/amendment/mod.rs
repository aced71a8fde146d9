//! Amendments: what the chemistry asks for, product by product. Each file returns a need; caps, staging and rounding are the same for all.

mod carbon;
mod gypsum;
mod lime;
mod phosphate_rock;
mod sulfur;

use super::draft::{Draft, Need};
use super::zone::Case;

pub(super) use lime::LimeRules;

/// The drafts of all amendments of a zone, in the order of their columns.
pub(super) fn drafts(case: Case<'_>, lime_rules: &LimeRules) -> Vec<Draft> {
    let mut drafts = lime::drafts(case, lime_rules);
    let calcium_of_lime = lime::calcium_kg_ha(case, &drafts);
    let gypsum = gypsum::draft(case, calcium_of_lime);
    let sulfur_of_gypsum = gypsum::sulfur_kg_ha(case, gypsum.as_ref());
    drafts.extend(gypsum);
    drafts.extend(carbon::drafts(case));
    drafts.extend(phosphate_rock::draft(case));
    drafts.extend(sulfur::draft(case, sulfur_of_gypsum));
    drafts
}

/// A draft of a product that the rulebook has, unless the zone does not take it.
fn draft(case: Case<'_>, name: &str, need: impl FnOnce() -> Need) -> Option<Draft> {
    let product = case.bench.rulebook.product(name)?;
    let need = need();
    let is_wanted = need.rate > 0.0;
    let mut draft = Draft::of_need(case, product, need);
    if is_wanted && let Some(why) = case.unmet(&product.only_where) {
        draft.hold_back(format!("not here: {why}"));
    }
    if is_wanted && let Some(finding) = case.closed_by(name, product.carries_salt) {
        draft.hold_back(format!(
            "held back by {}: {}",
            finding.factor.name(),
            finding.sentence
        ));
    }
    Some(draft)
}
