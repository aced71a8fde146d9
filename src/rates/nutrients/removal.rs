//! What a harvest takes off the field, by crop and yield.

use crate::plan::YieldGoal;
use crate::rates::zone_context::{FieldContext, ZoneContext};
use crate::rulebook::{Crop, Nutrient, Removal};
use crate::units::{MassPerArea, Quantity};

/// What the crop takes at its goal, kg/ha, with the numbers.
pub(super) fn removal(case: ZoneContext<'_>, nutrient: Nutrient) -> Result<(f64, String), String> {
    let crop = case.field.crop;
    let pounds = pounds_a_unit(removal_of(crop)?, nutrient)?;
    let goal = goal_of_plan(case.field)?;
    let words = format!("{} {}/ac x {pounds} lb", number(goal), crop.yield_unit);
    Ok((taken(goal, pounds)?.kilograms_per_hectare(), words))
}

/// What a unit of the crop takes, by nutrient.
pub(in crate::rates) fn removal_of(crop: &Crop) -> Result<&Removal, String> {
    crop.removal.as_ref().ok_or_else(|| {
        format!(
            "what {} takes off the field is not in the rulebook",
            crop.label
        )
    })
}

/// Pounds of a nutrient that a unit of yield takes.
pub(in crate::rates) fn pounds_a_unit(
    removal: &Removal,
    nutrient: Nutrient,
) -> Result<f64, String> {
    match nutrient {
        Nutrient::Phosphate => Ok(removal.phosphate),
        Nutrient::Potash => Ok(removal.potash),
        Nutrient::Sulfur => Ok(removal.sulfur),
        other => Err(format!("removal of {} is not in the rulebook", other.key())),
    }
}

/// What a yield takes at so many pounds a unit.
pub(in crate::rates) fn taken(goal: f64, pounds: f64) -> Result<MassPerArea, String> {
    MassPerArea::parse(&format!("{} lb/ac", goal * pounds)).map_err(|error| error.to_string())
}

/// The plan's yield goal of its crop, in the crop's unit per acre.
pub(in crate::rates) fn goal_of_plan(field: &FieldContext<'_>) -> Result<f64, String> {
    let crop = field.crop;
    let names_it = |name: &str| {
        let known = field.rulebook.crop(name);
        known.is_some_and(|known| known.name == crop.name)
    };
    let mut goals = field.settings.supply.yield_goals.iter();
    let (_, goal) = goals
        .find(|(name, _)| names_it(name))
        .ok_or_else(|| no_goal(crop))?;
    in_units(crop, goal)
}

/// What the crop brings at the plan's goal and price, United States dollars per hectare; `None` where one of them is not known.
pub(in crate::rates) fn gross_of_goal(field: &FieldContext<'_>) -> Option<f64> {
    let price = field.settings.crop_price.filter(|price| *price > 0.0)?;
    let harvest = taken(goal_of_plan(field).ok()?, field.crop.pounds_per_unit).ok()?;
    let gross = price * harvest.kilograms_per_hectare();
    (gross > 0.0).then_some(gross)
}

/// A yield in the crop's unit per acre.
pub(in crate::rates) fn in_units(crop: &Crop, goal: &YieldGoal) -> Result<f64, String> {
    match goal {
        YieldGoal::BushelsPerAcre(bushels) if crop.yield_unit == "bu" => Ok(*bushels),
        YieldGoal::BushelsPerAcre(_) => Err(format!(
            "the yield of {} is in bushels, and the tables count {}",
            crop.label, crop.yield_unit
        )),
        YieldGoal::Mass(mass) if crop.pounds_per_unit > 0.0 => {
            let pounds = mass.in_unit("lb/ac").ok_or("no pounds per acre")?;
            Ok(pounds / crop.pounds_per_unit)
        }
        YieldGoal::Mass(_) => Err(format!(
            "the weight of a unit of {} is not known",
            crop.label
        )),
    }
}

fn no_goal(crop: &Crop) -> String {
    format!(
        "how much depends on the yield; write [yield_goal] {} = \"...\" in the plan",
        crop.name
    )
}

fn number(value: f64) -> String {
    crate::rates::pending_rate::number(value)
}
