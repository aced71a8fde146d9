//! The products of a prescription as columns: one rate per zone for each.

use super::material::Material;
use super::pending_rate::PendingRate;
use super::zone_context::FieldContext;
use super::zone_plan::ZonePlan;
use crate::rulebook::ProductName;
use crate::units::Metering;

/// Amendments in the order of the output columns, after the starter; others follow by name.
const AMENDMENTS: [&str; 7] = [
    "lime",
    "dolomitic_lime",
    "gypsum",
    "compost",
    "molasses",
    "phosphate_rock",
    "elemental_sulfur",
];

/// The products that some zone wants or gets, the starter first.
pub(super) fn names(plans: &[ZonePlan]) -> Vec<ProductName> {
    let is_wanted = |pending: &&PendingRate| {
        pending.product == ProductName::Starter
            || pending.needed > 0.0
            || pending.amount > 0.0
            || pending.note.is_some()
            || pending.overridden.is_some()
    };
    let mut names: Vec<ProductName> = plans
        .iter()
        .flat_map(|plan| &plan.pending)
        .filter(is_wanted)
        .map(|pending| pending.product.clone())
        .collect();
    names.sort_by(|a, b| rank(a).cmp(&rank(b)).then_with(|| a.cmp(b)));
    names.dedup();
    names
}

fn rank(name: &ProductName) -> usize {
    match name {
        ProductName::Starter => 0,
        ProductName::Product(name) => AMENDMENTS
            .iter()
            .position(|column| column == name)
            .map_or(AMENDMENTS.len() + 1, |at| at + 1),
    }
}

/// One pending rate for each column, in the order of the columns.
pub(super) fn fill(field: &FieldContext<'_>, names: &[ProductName], plan: &mut ZonePlan) {
    let pending = std::mem::take(&mut plan.pending);
    let rate = |name: &ProductName| {
        let metering = field
            .material(name)
            .map_or(Metering::Liquid, Material::metering);
        let known = pending.iter().find(|pending| pending.product == *name);
        known.map_or_else(|| PendingRate::nothing(name, metering), PendingRate::clone)
    };
    plan.pending = names.iter().map(rate).collect();
}
