//! What the last crop took, what this one will take, what the products bring, and what is left over years.

use super::balance_sheet::{Balance, CropTake, NutrientBalance, ZoneBalance};
use super::nutrients::{goal_of_plan, in_units, pounds_a_unit, removal_of, taken};
use super::pending_rate::{PendingRate, number};
use super::zone_context::FieldContext;
use super::zone_plan::ZonePlan;
use crate::rulebook::{Crop, Nutrient};
use crate::units::MassPerArea;

/// The nutrients whose removal is in the rulebook.
const COUNTED: [Nutrient; 3] = [Nutrient::Phosphate, Nutrient::Potash, Nutrient::Sulfur];
/// Harvests after which the balance is told.
const HARVESTS: [u8; 3] = [1, 2, 4];

/// The sheet; `None` where the plan names neither a goal nor a last harvest.
pub(super) fn balance(field: &FieldContext<'_>, plans: &[ZonePlan]) -> Option<Balance> {
    let supply = &field.settings.supply;
    if supply.yield_goals.is_empty() && supply.last_harvests.is_empty() {
        return None;
    }
    let mut missing = Vec::new();
    let mut told = |take: Result<CropTake, String>| take.map_err(|why| missing.push(why)).ok();
    let last = supply.last_harvests.iter().filter_map(|(name, harvest)| {
        let crop = field.rulebook.crop(name)?;
        told(in_units(crop, harvest).and_then(|units| take(crop, units)))
    });
    let last = last.collect();
    let goal = told(goal_of_plan(field).and_then(|goal| take(field.crop, goal)));
    let zones = plans.iter().map(|plan| ZoneBalance {
        number: plan.number,
        nutrients: COUNTED
            .map(|nutrient| of_nutrient(field, plan, nutrient, goal.as_ref()))
            .into(),
    });
    let zones = zones.collect();
    Some(Balance {
        last,
        goal,
        missing,
        zones,
    })
}

fn take(crop: &Crop, units: f64) -> Result<CropTake, String> {
    let removal = removal_of(crop)?;
    let of = |nutrient| Ok((nutrient, taken(units, pounds_a_unit(removal, nutrient)?)?));
    let takes: Result<Vec<_>, String> = COUNTED.into_iter().map(of).collect();
    Ok(CropTake {
        crop: crop.label.clone(),
        harvest: format!("{} {}/ac", number(units), crop.yield_unit),
        takes: takes?,
        source: removal.source.clone(),
    })
}

fn of_nutrient(
    field: &FieldContext<'_>,
    plan: &ZonePlan,
    nutrient: Nutrient,
    goal: Option<&CropTake>,
) -> NutrientBalance {
    let sum = |part: &str| -> f64 {
        let brings = |rate: &PendingRate| {
            let supplies = field.material(&rate.product)?.supplies();
            let (_, kilograms) = supplies.into_iter().find(|(name, _)| *name == part)?;
            Some(rate.amount * kilograms)
        };
        plan.pending.iter().filter_map(brings).sum()
    };
    let in_all = sum(nutrient.key());
    let takes = goal.and_then(|goal| goal.takes.iter().find(|(of, _)| *of == nutrient));
    // A crop whose removal of this nutrient was not found takes an unknown amount, not none.
    let takes = takes
        .map(|(_, mass)| mass.kilograms_per_hectare())
        .filter(|mass| *mass > 0.0);
    let left = |harvests: &u8| {
        let left = in_all - f64::from(*harvests) * takes?;
        Some((*harvests, MassPerArea::from_kilograms_per_hectare(left)))
    };
    NutrientBalance {
        nutrient,
        brings_now: MassPerArea::from_kilograms_per_hectare(sum(nutrient.part())),
        brings_in_all: MassPerArea::from_kilograms_per_hectare(in_all),
        left: HARVESTS.iter().filter_map(left).collect(),
    }
}
