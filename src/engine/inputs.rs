use std::path::Path;

use super::demand::{self, Limits};
use super::stopwatch::Stopwatch;
use super::terms::Terms;
use super::watch::{Step, Watch};
use crate::error::{Error, Failure};
use crate::field::{self, Field};
use crate::files::Files;
use crate::intake;
use crate::plan::{self, Purpose, Settings};
use crate::rates;
use crate::remark::Remark;
use crate::rulebook::{Rulebook, RulebookError};

/// What the files say, laid out on the field.
#[derive(Debug)]
pub struct Inputs {
    /// What the user asked for.
    pub settings: Settings,
    /// The thresholds in force.
    pub rulebook: Rulebook,
    /// The field and its observations.
    pub field: Field,
    /// Remarks of the stages so far, in their order.
    pub remarks: Vec<Remark>,
}

impl Inputs {
    /// Reads a plan and everything that it names; hands back the stopwatch for the stages that follow.
    pub(super) fn read<'w>(
        files: &Files,
        plan: &Path,
        purpose: Purpose,
        terms: &Terms<'_>,
        watch: &'w dyn Watch,
    ) -> Result<(Self, Stopwatch<'w>), Failure> {
        let mut time = Stopwatch::new(watch);
        let (settings, mut remarks) = time.time(Step::Plan, || {
            plan::read_with(files, plan, purpose, terms.inherited)
        })??;
        let files = files.beside(plan);
        let limits = Limits::new(&settings.limits, watch.grant());
        limits.allow_reading(&files, &settings)?;
        let rulebook = time.time(Step::Rulebook, || {
            Rulebook::load(
                &files,
                settings.supply.region.as_deref(),
                settings.rules.as_deref(),
            )
        })?;
        let rulebook = rulebook
            .map_err(|errors| with_region_place(errors, &settings))
            .map(|rulebook| rulebook.with_depths_in(settings.units))
            .and_then(|rulebook| with_own_analysis(rulebook, &settings))
            .and_then(|rulebook| rates::check_worked_values(&rulebook).map(|_| rulebook));
        // Without a rulebook the run ends, and nothing is said of free lime.
        let free_lime_ph = rulebook
            .as_ref()
            .map_or(f64::INFINITY, |rulebook| rulebook.numbers.free_lime_ph);
        let survey = time.time(Step::Intake, || {
            intake::read(&files, &settings, free_lime_ph)
        })?;
        let (rulebook, mut survey) = both(rulebook, survey)?;
        remarks.append(&mut survey.remarks);
        let demand = demand::allowed(&survey, &settings, &limits)?;
        watch.expects(&demand);
        remarks.extend(demand.remark());
        let field = time.time(Step::Field, || field::lay_out(survey, &settings))??;
        remarks.extend(field.remarks.iter().cloned());
        if purpose == Purpose::Rates {
            let unknown = rates::check_names(&settings, &rulebook, &field);
            if !unknown.is_empty() {
                return Err(unknown.into());
            }
        }
        let inputs = Self {
            settings,
            rulebook,
            field,
            remarks,
        };
        Ok((inputs, time))
    }
}

/// Both values, or the errors of both.
fn both<A, B, E: Into<Error>, F: Into<Error>>(
    a: Result<A, Vec<E>>,
    b: Result<B, Vec<F>>,
) -> Result<(A, B), Failure> {
    match (a, b) {
        (Ok(a), Ok(b)) => Ok((a, b)),
        (Err(a), Err(b)) => Err(Failure::from(a).and(Failure::from(b))),
        (Err(a), Ok(_)) => Err(a.into()),
        (Ok(_), Err(b)) => Err(b.into()),
    }
}

/// The errors of a rulebook; a region that is not known is said with its row in the plan.
fn with_region_place(errors: Vec<RulebookError>, settings: &Settings) -> Vec<RulebookError> {
    let mut rows = settings.supply.rows.iter();
    let row = rows.find(|(key, _)| key == "region").map(|(_, row)| *row);
    let place = settings.place_of("region");
    let here = match (place.row, row) {
        (None, Some(row)) => place.at_row(row),
        _ => place,
    };
    errors
        .into_iter()
        .map(|error| match error {
            RulebookError::UnknownRegion {
                region,
                nearest,
                allowed,
                ..
            } => RulebookError::UnknownRegion {
                place: Some(here.clone()),
                region,
                nearest,
                allowed,
            },
            other => other,
        })
        .collect()
}

/// The rulebook with the analyses of the plan's shed.
fn with_own_analysis(
    mut rulebook: Rulebook,
    settings: &Settings,
) -> Result<Rulebook, Vec<RulebookError>> {
    let Some(shed) = &settings.supply.shed else {
        return Ok(rulebook);
    };
    let mut errors = Vec::new();
    for (product, parts) in &shed.analysis {
        let place = settings.place_of(&format!("shed.analysis.{product}"));
        errors.extend(rulebook.put_analysis(product, parts, &place).err());
    }
    if errors.is_empty() {
        Ok(rulebook)
    } else {
        Err(errors)
    }
}
