//! The stages in their order, each timed. Whatever a stage remarks is kept for the report.

use std::path::Path;
use std::time::Instant;

use super::progress::Progress;
use crate::choice;
use crate::deliver::StageValues;
use crate::diagnosis::{self, Diagnosis};
use crate::error;
use crate::error::Failure;
use crate::field::{self, Field};
use crate::intake;
use crate::plan::{self, Purpose, Settings};
use crate::rates::{self, Prescription};
use crate::remark::Remark;
use crate::rulebook::Rulebook;
use crate::surface::{self, Surfaces};
use crate::zones::{self, Zones};

/// Times the stages and says on the progress line what is being done.
#[derive(Debug)]
pub struct Stopwatch<'p> {
    progress: &'p Progress,
    timings: Vec<(&'static str, f64)>,
}

impl<'p> Stopwatch<'p> {
    /// A stopwatch that has not measured anything.
    #[must_use]
    pub fn new(progress: &'p Progress) -> Self {
        Self {
            progress,
            timings: Vec::new(),
        }
    }

    /// Does a stage's work, keeps the seconds it took.
    pub fn time<T>(
        &mut self,
        stage: &'static str,
        doing: &'static str,
        work: impl FnOnce() -> T,
    ) -> T {
        self.progress.doing(doing);
        let start = Instant::now();
        let made = work();
        let seconds = start.elapsed().as_secs_f64();
        match self.timings.iter_mut().find(|(name, _)| *name == stage) {
            Some((_, sum)) => *sum += seconds,
            None => self.timings.push((stage, seconds)),
        }
        made
    }
}

/// What the input says, laid out on the field: as far as `check` goes.
#[derive(Debug)]
pub struct Reading {
    /// What the user asked for.
    pub settings: Settings,
    /// The thresholds in force.
    pub rulebook: Rulebook,
    /// The field and its observations.
    pub field: Field,
    /// Remarks of the stages so far, in their order.
    pub remarks: Vec<Remark>,
}

impl Reading {
    /// Reads a plan and everything that it names.
    ///
    /// # Errors
    /// All problems of the stage that cannot go on; those of data files and rulebook file together.
    pub fn for_rates(plan: &Path, watch: &mut Stopwatch<'_>) -> Result<Self, Failure> {
        Self::made_for(Purpose::Rates, plan, watch)
    }

    /// The same for a purpose that may need less of the plan.
    ///
    /// # Errors
    /// All problems of the stage that cannot go on; those of data files and rulebook file together.
    pub fn made_for(
        purpose: Purpose,
        plan: &Path,
        watch: &mut Stopwatch<'_>,
    ) -> Result<Self, Failure> {
        let (settings, mut remarks) =
            watch.time("plan", "reading the plan", || plan::read_for(plan, purpose))?;
        let rulebook = watch.time("rulebook", "reading the rulebook", || {
            Rulebook::load(settings.rules.as_deref())
        });
        let survey = watch.time("intake", "reading the files", || intake::read(&settings));
        let (rulebook, mut survey) = both(rulebook, survey)?;
        remarks.append(&mut survey.remarks);
        let field = watch.time("field", "laying out the field", || {
            field::lay_out(survey, &settings)
        })?;
        remarks.extend(field.remarks.iter().cloned());
        Ok(Self {
            settings,
            rulebook,
            field,
            remarks,
        })
    }
}

/// Both values, or the errors of both.
fn both<A, B, E: Into<error::Error>, F: Into<error::Error>>(
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

/// Everything from the plan to the rates.
#[derive(Debug)]
pub struct Run {
    reading: Reading,
    surfaces: Surfaces,
    zones: Zones,
    diagnosis: Diagnosis,
    prescription: Prescription,
    timings: Vec<(&'static str, f64)>,
}

impl Run {
    /// Runs all stages up to the rates.
    ///
    /// # Errors
    /// All problems of the stage that cannot go on.
    pub fn to_rates(plan: &Path, mut watch: Stopwatch<'_>) -> Result<Self, Failure> {
        let mut reading = Reading::for_rates(plan, &mut watch)?;
        let Reading {
            settings,
            rulebook,
            field,
            remarks,
        } = &mut reading;
        let surfaces = watch.time("surface", "drawing the surfaces", || {
            surface::interpolate(field, &settings.surface)
        })?;
        remarks.extend(surfaces.remarks.iter().cloned());
        let zones = watch.time("zones", "finding the zones", || {
            zones::delineate(field, &surfaces, settings)
        })?;
        remarks.extend(zones.remarks.iter().cloned());
        let carry = |zones: &Zones, settings: &Settings| -> Result<_, Failure> {
            let diagnosis = watch.time("diagnosis", "looking for what limits each zone", || {
                diagnosis::diagnose(settings, field, &surfaces, zones, rulebook)
            })?;
            let prescription = watch.time("rates", "calculating the rates", || {
                rates::prescribe(settings, field, &surfaces, zones, &diagnosis, rulebook)
            })?;
            Ok((diagnosis, prescription))
        };
        let chosen = choice::choose(&field.grid, settings, zones, carry)?;
        let (zones, diagnosis, prescription) =
            (chosen.zones, chosen.diagnosis, chosen.prescription);
        remarks.extend(chosen.remarks);
        remarks.extend(diagnosis.remarks.iter().cloned());
        remarks.extend(prescription.remarks.iter().cloned());
        Ok(Self {
            reading,
            surfaces,
            zones,
            diagnosis,
            prescription,
            timings: watch.timings,
        })
    }

    /// What the deliverables are made from.
    #[must_use]
    pub fn case(&self) -> StageValues<'_> {
        StageValues {
            settings: &self.reading.settings,
            field: &self.reading.field,
            surfaces: &self.surfaces,
            zones: &self.zones,
            diagnosis: &self.diagnosis,
            prescription: &self.prescription,
            remarks: &self.reading.remarks,
            timings: &self.timings,
        }
    }
}
