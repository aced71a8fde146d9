use std::path::Path;
use std::sync::Arc;

use super::demand::{self, Limits};
use super::kept::{Kept, Laid, LaidKey, RulebookKey};
use super::stopwatch::Stopwatch;
use super::terms::Terms;
use super::watch::Step;
use crate::analyte;
use crate::error::{Error, Failure};
use crate::field::{self, Field};
use crate::files::Files;
use crate::intake::{self, InputFile};
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
    pub rulebook: Arc<Rulebook>,
    /// The field and its observations.
    pub field: Arc<Field>,
    /// Every file that was read.
    pub files: Vec<InputFile>,
    /// Remarks of the stages so far, in their order.
    pub remarks: Vec<Remark>,
}

impl Inputs {
    /// Reads a plan and everything that it names, as far as it is not kept from before.
    pub(super) fn read(
        files: &Files,
        plan: &Path,
        purpose: Purpose,
        terms: &Terms<'_>,
        time: &mut Stopwatch<'_>,
        kept: &mut Kept,
    ) -> Result<Self, Failure> {
        let (settings, mut remarks) = time.time(Step::Plan, || {
            plan::read_with(files, plan, purpose, terms.inherited)
        })??;
        let files = files.beside(plan);
        let limits = Limits::new(&settings.limits, time.watch().grant());
        limits.allow_reading(&files, &settings)?;
        // What takes long the first time is made ready while the rulebook is read.
        let ready = || rayon::join(field::open_ahead, || analyte::meaning_of("pH"));
        let (rulebook, _) = rayon::join(|| rulebook(&files, &settings, time, kept), ready);
        let rulebook = rulebook?;
        // Without a rulebook the run ends, and nothing is said of free lime.
        let free_lime_ph = rulebook
            .as_ref()
            .map_or(f64::INFINITY, |rulebook| rulebook.numbers.free_lime_ph);
        let laid = laid(&files, &settings, (free_lime_ph, &limits), time, kept);
        let (rulebook, laid) = both(rulebook, laid)?;
        limits.allow(&laid.demand, &settings)?;
        time.watch().expects(&laid.demand);
        remarks.extend(laid.remarks.iter().cloned());
        let mut read = intake::plan_files(&files, &settings)?;
        read.extend(laid.inputs.iter().cloned());
        if purpose == Purpose::Rates {
            let unknown = rates::check_names(&settings, &rulebook, &laid.field);
            if !unknown.is_empty() {
                return Err(unknown.into());
            }
        }
        Ok(Self {
            settings,
            rulebook,
            field: Arc::clone(&laid.field),
            files: read,
            remarks,
        })
    }
}

/// The thresholds in force; what is wrong with them is told beside what is wrong with the files.
fn rulebook(
    files: &Files,
    settings: &Settings,
    time: &mut Stopwatch<'_>,
    kept: &mut Kept,
) -> Result<Result<Arc<Rulebook>, Vec<RulebookError>>, Failure> {
    time.time(Step::Rulebook, || {
        kept.rulebooks.get(RulebookKey::new(files, settings), || {
            Rulebook::load(
                files,
                settings.supply.region.as_deref(),
                settings.rules.as_deref(),
            )
            .map_err(|errors| with_region_place(errors, settings))
            .map(|rulebook| rulebook.with_depths_in(settings.units))
            .and_then(|rulebook| with_own_analysis(rulebook, settings))
            .and_then(|rulebook| rates::check_worked_values(&rulebook).map(|_| rulebook))
        })
    })
}

/// The files that the plan names, read and laid out on the field.
fn laid(
    files: &Files,
    settings: &Settings,
    (free_lime_ph, limits): (f64, &Limits),
    time: &mut Stopwatch<'_>,
    kept: &mut Kept,
) -> Result<Arc<Laid>, Failure> {
    let key = LaidKey::new(files, settings, free_lime_ph);
    kept.laid.get(key, || {
        let survey = time.time(Step::Intake, || intake::read(files, settings, free_lime_ph))?;
        let mut survey = survey?;
        let of_the_plan = 1 + settings.rules.iter().count();
        let inputs = survey
            .inputs
            .split_off(of_the_plan.min(survey.inputs.len()));
        let mut remarks = std::mem::take(&mut survey.remarks);
        let demand = demand::allowed(&survey, settings, limits)?;
        remarks.extend(demand.remark());
        let field = time.time(Step::Field, || field::lay_out(survey, settings))??;
        remarks.extend(field.remarks.iter().cloned());
        Ok(Laid {
            field: Arc::new(field),
            inputs,
            remarks,
            demand,
        })
    })
}

/// Both values, or the errors of both.
fn both<A, B, E: Into<Error>>(
    a: Result<A, Vec<E>>,
    b: Result<B, Failure>,
) -> Result<(A, B), Failure> {
    match (a, b) {
        (Ok(a), Ok(b)) => Ok((a, b)),
        (Err(a), Err(b)) => Err(Failure::from(a).and(b)),
        (Err(a), Ok(_)) => Err(a.into()),
        (Ok(_), Err(b)) => Err(b),
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
