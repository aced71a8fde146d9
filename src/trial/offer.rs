//! What check strips could show, for a report of a plan that asks for none.

use super::error::TrialError;
use super::lay::{LayingGround, lay_asked};
use super::strip_plan::StripPlan;
use crate::plan::{FixedOrAuto, StripSettings, StripTreatment};
use crate::provenance::Place;
use crate::rates::Prescription;
use crate::rulebook::ProductName;
use crate::units::ProductRate;

/// Strips without the starter where it is applied somewhere; else strips that try it where that does no harm. `None` where neither fits.
///
/// # Errors
/// As [`super::lay`].
pub fn offer(ground: LayingGround<'_>) -> Result<Option<StripPlan>, Vec<TrialError>> {
    let Some(treatment) = treatment(
        ground.prescription,
        &ground.settings.plan_file.display().to_string(),
    ) else {
        return Ok(None);
    };
    let asked = StripSettings::usual(treatment, FixedOrAuto::Auto);
    let laid = lay_asked(ground, &asked)?;
    let has_any = laid.plan.strips().next().is_some();
    Ok(has_any.then_some(laid.plan))
}

fn treatment(prescription: &Prescription, plan: &str) -> Option<StripTreatment> {
    let starter = ProductName::Starter;
    let rates = || {
        prescription
            .zones
            .iter()
            .flat_map(|zone| &zone.rates)
            .filter(|rate| rate.product == starter)
    };
    let is_applied = rates().any(|rate| !rate.amount.is_zero());
    let tried = rates()
        .filter_map(|rate| rate.strip)
        .max_by(|a, b| a.per_hectare().total_cmp(&b.per_hectare()));
    let (name, rate) = match (is_applied, tried) {
        (true, _) => ("no starter", None),
        (false, Some(ProductRate::Volume(most))) => {
            ("with starter", Some(ProductRate::Volume(most)))
        }
        _ => return None,
    };
    Some(StripTreatment {
        name: name.to_owned(),
        rates: vec![(starter.to_string(), rate)],
        zones: Vec::new(),
        is_joint: false,
        place: Place::file(plan.to_owned()),
    })
}
