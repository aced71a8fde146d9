//! How much of a nutrient a zone needs, by the row of a rate table that is for crop, test and region.

use super::removal::{goal_of_plan, removal};
use crate::analyte::Analyte;
use crate::diagnosis::Finding;
use crate::rates::money_over_time::BuildUp;
use crate::rates::pending_rate::{PendingRate, number};
use crate::rates::zone_context::ZoneContext;
use crate::rulebook::{EquationTerms, Nutrient, RateForm, RateTable};
use crate::soil::{BuildAndMaintain, RateEquation, build_and_maintain, rate_of_steps};

/// A nutrient that is measured short, and how much of it is needed.
#[derive(Debug, Clone)]
pub(in crate::rates) struct Needed {
    pub nutrient: Nutrient,
    /// kg/ha that the table asks for.
    pub wanted: f64,
    /// kg/ha that starter and other amendments bring.
    pub brought: f64,
    /// The table with its numbers.
    pub steps: Vec<String>,
    /// Why no amount can be told.
    pub refused: Option<String>,
    /// Why the amount leaves out what the crop takes, where it does.
    pub without_removal: Option<String>,
    /// The part that builds the test up.
    pub build: Option<BuildUp>,
}

impl Needed {
    /// What is left to be supplied, kg/ha.
    pub fn left(&self) -> f64 {
        (self.wanted - self.brought).max(0.0)
    }

    /// Whether what goes out besides brings all of a need that is known.
    pub fn is_brought(&self) -> bool {
        self.refused.is_none() && self.wanted > 0.0 && self.left() <= 0.0
    }
}

/// The needs of a zone, where these rates are given besides.
pub(in crate::rates) fn needs(case: ZoneContext<'_>, given: &[PendingRate]) -> Vec<Needed> {
    let needs = Nutrient::ALL.iter();
    needs
        .filter_map(|nutrient| {
            let finding = case.limit(nutrient.factor())?;
            let mut needed = need(case, *nutrient, finding)?;
            needed.brought = brought(case, given, nutrient.part());
            Some(needed)
        })
        .collect()
}

/// Kilograms per hectare of a part that some rates bring.
pub(super) fn brought(case: ZoneContext<'_>, given: &[PendingRate], part: &str) -> f64 {
    let of_rate = |rate: &PendingRate| {
        let material = case.field.material(&rate.product)?;
        let supplies = material.supplies();
        let found = supplies.iter().find(|(name, _)| *name == part)?;
        Some(rate.amount * found.1)
    };
    given.iter().filter_map(of_rate).sum()
}

/// The need of a nutrient; `None` where no table speaks of it.
fn need(case: ZoneContext<'_>, nutrient: Nutrient, finding: &Finding) -> Option<Needed> {
    let rulebook = case.field.rulebook;
    let layer = finding.layer.as_ref()?;
    let crop = case.field.crop;
    let mut rows = rulebook.rates.iter();
    let row = rows.find(|row| {
        row.is_for(nutrient, &crop.name, layer.method.as_ref())
            && case.diagnosis.unmet(&row.only_where, rulebook).is_none()
    })?;
    let (value, inferred) = (finding.value?, &finding.inferred);
    let mut needed = Needed {
        nutrient,
        wanted: 0.0,
        brought: 0.0,
        steps: Vec::new(),
        refused: None,
        without_removal: None,
        build: None,
    };
    if inferred.is_some() {
        needed.refused = Some("the test is of another method than the table's".to_owned());
        return Some(needed);
    }
    match by_row(case, row, value) {
        Ok((wanted, step)) => {
            needed.wanted = wanted;
            needed.steps.push(step);
            needed.build = build_up(case, row, value);
            if matches!(row.form, RateForm::Build { .. }) && wanted > 0.0 {
                needed.without_removal = parts(case, row, value)
                    .ok()
                    .and_then(|(_, _, removed)| removed.err());
            }
        }
        Err(why) => needed.refused = Some(why),
    }
    if row.is_national && rulebook.region.is_some() {
        needed.steps.push(
            "the region's rules have no table for this, so the national one holds".to_owned(),
        );
    }
    needed
        .steps
        .extend(row.disputed.iter().map(|line| format!("disputed: {line}")));
    Some(needed)
}

/// kg/ha by a row, with its numbers.
fn by_row(case: ZoneContext<'_>, row: &RateTable, value: f64) -> Result<(f64, String), String> {
    if row.none_from.is_some_and(|from| value >= from) {
        let step = case.told(|| {
            format!(
                "nothing from a test of {} on ({})",
                number(value),
                row.source
            )
        });
        return Ok((0.0, step));
    }
    let (rate, words) = by_form(case, row, value)?;
    let floored = if rate > 0.0 { rate.max(row.floor) } else { 0.0 };
    let capped = row.most.map_or(floored, |most| floored.min(most));
    let shown = case.show_mass(capped * row.unit, usize::from(capped < 20.0));
    let cut = if capped < floored {
        ", the most of one season; split the rest"
    } else {
        ""
    };
    let step = case.told(|| {
        format!(
            "{}: {words}: {shown}{cut} ({})",
            row.nutrient.label(),
            row.source
        )
    });
    Ok((capped * row.unit, step))
}

/// The rate in the row's unit before floor and cap, and how it comes about.
fn by_form(case: ZoneContext<'_>, row: &RateTable, value: f64) -> Result<(f64, String), String> {
    let test = value / row.test_divided_by;
    match &row.form {
        RateForm::Removal => {
            let (removed, words) = removal(case, row.nutrient)?;
            Ok((removed / row.unit, words))
        }
        RateForm::Steps(steps) => {
            let words = case.told(|| format!("table by soil test {}", number(value)));
            Ok((rate_of_steps(steps, test), words))
        }
        RateForm::Equation(terms) => by_equation(case, terms, test),
        RateForm::Build { .. } => build(case, row, test),
    }
}

fn by_equation(
    case: ZoneContext<'_>,
    terms: &EquationTerms,
    test: f64,
) -> Result<(f64, String), String> {
    let equation = equation_of(terms);
    let goal = if equation.needs_yield() {
        goal_of_plan(case.field)?
    } else {
        0.0
    };
    let matter = if equation.needs_organic_matter() {
        organic_matter(case)?
    } else {
        0.0
    };
    let rate = equation
        .rate(test, goal, matter)
        .map_err(|error| error.to_string())?;
    let goal = if goal > 0.0 {
        format!(
            " and a yield of {} {}/ac",
            number(goal),
            case.field.crop.yield_unit
        )
    } else {
        String::new()
    };
    Ok((
        rate,
        format!("equation at soil test {}{goal}", number(test)),
    ))
}

pub(super) fn equation_of(terms: &EquationTerms) -> RateEquation {
    RateEquation {
        constant: terms.constant,
        per_yield: terms.per_yield,
        per_test: terms.per_test,
        per_test_and_yield: terms.per_test_and_yield,
        per_test_squared: terms.per_test_squared,
        per_organic_matter: terms.per_organic_matter,
    }
}

/// The part of a rate that builds the test up, and its years; `None` where the table builds nothing up here.
fn build_up(case: ZoneContext<'_>, row: &RateTable, value: f64) -> Option<BuildUp> {
    let RateForm::Build { years, .. } = &row.form else {
        return None;
    };
    let (parts, ..) = parts(case, row, value / row.test_divided_by).ok()?;
    let share = parts.build / (parts.build + parts.maintain);
    share.is_finite().then_some(BuildUp {
        share,
        years: *years,
    })
}

/// Build-up and maintenance in the row's unit, what each ppm short takes, and the removal in words.
pub(super) fn parts(
    case: ZoneContext<'_>,
    row: &RateTable,
    test: f64,
) -> Result<(BuildAndMaintain, f64, Result<String, String>), String> {
    let RateForm::Build {
        critical,
        maintain_to,
        per_ppm,
        per_ppm_and_cec,
        plus,
        ..
    } = &row.form
    else {
        return Err("no build-up table".to_owned());
    };
    let capacity = if *per_ppm_and_cec > 0.0 {
        let cec = case.summary(&Analyte::CationExchangeCapacity, None);
        cec.map(|cec| cec.mean)
            .ok_or("no CEC, and the table asks for it")?
    } else {
        0.0
    };
    let per_ppm = per_ppm + per_ppm_and_cec * capacity;
    // Without a yield goal only the build-up can be told.
    let removed = removal(case, row.nutrient);
    let taken = removed
        .as_ref()
        .map_or(0.0, |(kilograms, _)| kilograms / row.unit + plus);
    let parts = build_and_maintain(test, (*critical, *maintain_to), per_ppm, taken)
        .map_err(|error| error.to_string())?;
    Ok((parts, per_ppm, removed.map(|(_, words)| words)))
}

/// Build-up and maintenance, told apart, in the row's unit.
fn build(case: ZoneContext<'_>, row: &RateTable, test: f64) -> Result<(f64, String), String> {
    let RateForm::Build {
        critical,
        plus,
        years,
        ..
    } = &row.form
    else {
        return Err("no build-up table".to_owned());
    };
    let (parts, per_ppm, removed) = parts(case, row, test)?;
    let show = |rate: f64| case.show_mass(rate * row.unit, 1);
    let more = if *plus > 0.0 && removed.is_ok() {
        format!(", and {} more", show(*plus))
    } else {
        String::new()
    };
    let of_crop = removed.unwrap_or_else(|why| format!("removal not counted: {why}"));
    let words = case.told(|| {
        format!(
            "build-up ({} - {}) ppm x {} = {} a year over {} years; maintenance {} ({of_crop}{more})",
            number(*critical),
            number(test),
            number(per_ppm),
            show(parts.build),
            number(*years),
            show(parts.maintain),
        )
    });
    Ok((parts.build + parts.maintain, words))
}

fn organic_matter(case: ZoneContext<'_>) -> Result<f64, String> {
    let matter = case.summary(&Analyte::OrganicMatter, None);
    matter
        .map(|matter| matter.mean)
        .ok_or_else(|| "no organic matter, and the table asks for it".to_owned())
}
