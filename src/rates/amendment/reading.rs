//! How a reading of pH is taken where lime is judged, and how a depth is told.

use super::super::pending_rate::number;
use super::super::zone_context::ZoneContext;
use crate::analyte::{LayerKey, Method};
use crate::units::{Length, UnitSystem};

/// pH in water from a reading of a layer: the reading itself, or, by another method, the most that it can be, which errs to less lime.
pub(super) fn in_water(case: ZoneContext<'_>, key: &LayerKey) -> impl Fn(f64) -> f64 {
    let wanted = [Method::new("water")];
    let is_water = key
        .method
        .as_ref()
        .is_some_and(|method| wanted.contains(method));
    let inference = case
        .field
        .rulebook
        .inferences
        .iter()
        .find(|inference| !is_water && inference.bridges(key, &wanted));
    move |reading| {
        let most = inference.map(|inference| inference.interval(reading).1);
        most.filter(|most| most.is_finite()).unwrap_or(reading)
    }
}

pub(super) fn depth(depth: Length, units: UnitSystem) -> String {
    match units {
        UnitSystem::UnitedStates => format!("{} in", number(depth.metres() / 0.0254)),
        UnitSystem::Metric => format!("{} cm", number(depth.metres() * 100.0)),
    }
}
