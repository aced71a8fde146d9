//! What a rate table gives at values that a user writes down, so that a pack can be compared with numbers of one's own.

use super::need::equation_of;
use super::removal::{pounds_a_unit, removal_of};
use crate::rulebook::{RateForm, RateTable, Rulebook, RulebookError, WorkedValue};
use crate::soil::{build_and_maintain, rate_of_steps};
use crate::units::decimal;

/// Compares the worked values of a rulebook with its tables; tells how many agree.
///
/// # Errors
/// Each value that differs or cannot be worked out, with its place.
pub fn check_worked_values(rulebook: &Rulebook) -> Result<usize, Vec<RulebookError>> {
    let errors: Vec<RulebookError> = rulebook
        .worked
        .iter()
        .filter_map(|worked| Some((worked, differs(rulebook, worked)?)))
        .map(|(worked, what)| RulebookError::Contradiction {
            place: worked.place.clone(),
            what,
        })
        .collect();
    if errors.is_empty() {
        Ok(rulebook.worked.len())
    } else {
        Err(errors)
    }
}

fn differs(rulebook: &Rulebook, worked: &WorkedValue) -> Option<String> {
    let row = rulebook.rates.iter().find(|row| row.name == worked.rate)?;
    match rate(rulebook, row, worked) {
        Ok(found) if (found - worked.gives).abs() <= worked.within => None,
        Ok(found) => Some(format!(
            "rate.{} gives {} here, not {}; mend the row, or the value, or say how far off it may be with `within`",
            row.name,
            decimal(found, 3),
            decimal(worked.gives, 3)
        )),
        Err(why) => Some(format!("rate.{} gives nothing here: {why}", row.name)),
    }
}

/// In the row's unit.
fn rate(rulebook: &Rulebook, row: &RateTable, worked: &WorkedValue) -> Result<f64, String> {
    let test = worked.test / row.test_divided_by;
    if row.none_from.is_some_and(|from| worked.test >= from) {
        return Ok(0.0);
    }
    let wanted = |value: Option<f64>, key: &str| {
        value.ok_or_else(|| format!("the table asks for it: write {key} = ..."))
    };
    let removal = || removal(rulebook, row, worked);
    let told = |error: crate::soil::SoilError| error.to_string();
    let rate = match &row.form {
        RateForm::Removal => removal()?,
        RateForm::Steps(steps) => rate_of_steps(steps, test),
        RateForm::Equation(terms) => {
            let equation = equation_of(terms);
            let goal = if equation.needs_yield() {
                wanted(worked.yield_goal, "yield")?
            } else {
                0.0
            };
            let matter = if equation.needs_organic_matter() {
                wanted(worked.organic_matter, "organic_matter")?
            } else {
                0.0
            };
            equation.rate(test, goal, matter).map_err(told)?
        }
        RateForm::Build {
            critical,
            maintain_to,
            per_ppm,
            per_ppm_and_cec,
            plus,
            ..
        } => {
            let cec = if *per_ppm_and_cec > 0.0 {
                wanted(worked.cec, "cec")?
            } else {
                0.0
            };
            let per_ppm = per_ppm + per_ppm_and_cec * cec;
            let taken = removal()? + plus;
            let levels = (*critical, *maintain_to);
            let parts = build_and_maintain(test, levels, per_ppm, taken).map_err(told)?;
            parts.build + parts.maintain
        }
    };
    let floored = if rate > 0.0 { rate.max(row.floor) } else { 0.0 };
    Ok(row.most.map_or(floored, |most| floored.min(most)))
}

/// What the crop takes at the yield, in the row's unit.
fn removal(rulebook: &Rulebook, row: &RateTable, worked: &WorkedValue) -> Result<f64, String> {
    let named = worked.crop.as_ref().or_else(|| row.crops.first());
    let crop = named
        .and_then(|name| rulebook.crop(name))
        .ok_or("the table is for every crop: write crop = \"...\"")?;
    let goal = worked
        .yield_goal
        .ok_or("the table asks for what the crop takes: write yield = ...")?;
    let pounds = pounds_a_unit(removal_of(crop)?, row.nutrient)?;
    Ok(super::removal::taken(goal, pounds)?.kilograms_per_hectare() / row.unit)
}
