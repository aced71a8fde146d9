use std::path::Path;

use super::earlier_harvest::earlier_harvest;
use super::guarded;
use super::inputs::Inputs;
use super::past;
use super::terms::Terms;
use super::watch::{Step, Unwatched, Watch};
use crate::choice::{self, Trial, Worth};
use crate::deliver::{self, DeliverOptions, Delivery, SeasonValues, StageValues};
use crate::diagnosis::{self, Diagnosis};
use crate::error::{Error, Failure};
use crate::field::Field;
use crate::files::Files;
use crate::past::{SinceLastTime, Today, earlier_salt, own_trials};
use crate::plan::{FarmBudget, Purpose, Settings};
use crate::rates::{self, Prescription};
use crate::remark::Remark;
use crate::rulebook::Rulebook;
use crate::surface::{self, Surfaces};
use crate::trial::{self, LayingGround, StripPlan, TrialError};
use crate::units::MoneyPerArea;
use crate::zones::{self, Zones};

/// A finished run: the value of every stage from the plan to the rates.
#[derive(Debug)]
pub struct Run {
    inputs: Inputs,
    surfaces: Surfaces,
    zones: Zones,
    diagnosis: Diagnosis,
    prescription: Prescription,
    strips: StripPlan,
    offer: Option<StripPlan>,
    past: SeasonValues,
    worth: Worth,
    timings: Vec<(&'static str, f64)>,
}

impl Run {
    /// Runs all stages up to the rates.
    #[expect(
        clippy::too_many_lines,
        reason = "to be parted: steps that follow one another"
    )]
    pub(super) fn new(
        files: &Files,
        plan: &Path,
        terms: &Terms<'_>,
        watch: &dyn Watch,
    ) -> Result<Self, Failure> {
        let (mut inputs, mut time) = Inputs::read(files, plan, Purpose::Rates, terms, watch)?;
        let Inputs {
            settings,
            rulebook,
            field,
            remarks,
        } = &mut inputs;
        let surfaces = time.time(Step::Surface, || {
            surface::interpolate(field, &settings.surface)
        })??;
        remarks.extend(surfaces.remarks.iter().cloned());
        let beside = files.beside(plan);
        let earlier = earlier_harvest(&beside, settings, field)?;
        let runs = past::past_runs(&beside, settings, field)?;
        rulebook.own_trials = own_trials(&runs, &settings.crop);
        rulebook.earlier_salt = earlier_salt(&runs, field);
        let rulebook = &*rulebook;
        let carry_on = |settings: &Settings, field: &Field, surfaces: &Surfaces, zones: &Zones| {
            carry(settings, field, surfaces, zones, rulebook)
        };
        let trial = time.time(Step::Choice, || {
            Trial::new(field, &surfaces, settings, rulebook, &carry_on)
        })??;
        let counted = trial.settings(settings);
        let mut zones =
            time.time(Step::Zones, || zones::delineate(field, &surfaces, &counted))??;
        if let Some(why) = trial.why().filter(|_| !zones.layers.is_empty()) {
            why.clone_into(&mut zones.why);
        }
        remarks.extend(zones.remarks.iter().cloned());
        let timed = |zones: &Zones, settings: &Settings| -> Result<_, Failure> {
            let diagnosis = time.time(Step::Diagnosis, || {
                diagnosis::diagnose(settings, field, &surfaces, zones, rulebook)
            })??;
            let prescription = time.time(Step::Rates, || {
                rates::prescribe(settings, field, &surfaces, zones, &diagnosis, rulebook)
            })??;
            Ok((diagnosis, prescription))
        };
        let chosen = choice::choose(&field.grid, settings, zones, timed)?;
        let worth = time.time(Step::Choice, || trial.worth(&chosen, &carry_on))??;
        let (zones, diagnosis, mut prescription) =
            (chosen.zones, chosen.diagnosis, chosen.prescription);
        remarks.extend(chosen.remarks);
        if shared(settings, terms, &zones) {
            prescription =
                rates::prescribe(settings, field, &surfaces, &zones, &diagnosis, rulebook)?;
        }
        let logs = past::logs(
            &beside,
            settings,
            (&mut *field, &prescription),
            &runs,
            remarks,
        )?;
        let today = Today {
            settings,
            field,
            zones: &zones,
            diagnosis: &diagnosis,
        };
        let past = past::compare(today, runs, logs)?;
        let ground = LayingGround {
            settings,
            field,
            zones: &zones,
            prescription: &prescription,
            rulebook,
            earlier: earlier.as_ref(),
        };
        let (laid, offer) = time.time(Step::Trial, || {
            let offer = match settings.strips {
                Some(_) => None,
                None => trial::offer(ground)?,
            };
            Ok::<_, Vec<TrialError>>((trial::lay(ground)?, offer))
        })??;
        remarks.extend(diagnosis.remarks.iter().cloned());
        remarks.extend(prescription.remarks.iter().cloned());
        remarks.extend(laid.remarks);
        prescription.count_strips(&laid.plan.rates(), settings.machine.tank, rulebook);
        Ok(Self {
            inputs,
            surfaces,
            zones,
            diagnosis,
            prescription,
            strips: laid.plan,
            offer,
            past,
            worth,
            timings: time.into_timings(),
        })
    }

    /// What the user asked for.
    #[must_use]
    pub fn settings(&self) -> &Settings {
        &self.inputs.settings
    }

    /// The field and its observations.
    #[must_use]
    pub fn field(&self) -> &Field {
        &self.inputs.field
    }

    /// The maps.
    #[must_use]
    pub fn surfaces(&self) -> &Surfaces {
        &self.surfaces
    }

    /// The zones.
    #[must_use]
    pub fn zones(&self) -> &Zones {
        &self.zones
    }

    /// What limits each zone.
    #[must_use]
    pub fn diagnosis(&self) -> &Diagnosis {
        &self.diagnosis
    }

    /// What goes where.
    #[must_use]
    pub fn prescription(&self) -> &Prescription {
        &self.prescription
    }

    /// The check strips; empty where the plan asks for none.
    #[must_use]
    pub fn strips(&self) -> &StripPlan {
        &self.strips
    }

    /// What became of the field since the last season; `None` where the plan names none.
    #[must_use]
    pub fn since_last_time(&self) -> Option<&SinceLastTime> {
        self.past.since.as_ref()
    }

    /// What the zones are worth.
    #[must_use]
    pub fn worth(&self) -> &Worth {
        &self.worth
    }

    /// What the stages remarked, in their order.
    #[must_use]
    pub fn remarks(&self) -> &[Remark] {
        &self.inputs.remarks
    }

    /// All result files as named bytes. Nothing is written.
    ///
    /// # Errors
    /// Where the stages' values do not fit together, so that no half-true prescription is delivered.
    pub fn deliver(&self) -> Result<Delivery, Failure> {
        self.deliver_watched(&DeliverOptions::default(), &Unwatched)
    }

    /// The same with options, watched.
    ///
    /// # Errors
    /// As [`Run::deliver`], and [`Error::Cancelled`].
    pub fn deliver_watched(
        &self,
        options: &DeliverOptions,
        watch: &dyn Watch,
    ) -> Result<Delivery, Failure> {
        if watch.is_cancelled() {
            return Err(Error::Cancelled.into());
        }
        watch.begins(Step::Deliver);
        guarded(|| Ok(deliver::prepare(&self.stage_values(), options)?))
    }

    fn stage_values(&self) -> StageValues<'_> {
        StageValues {
            settings: &self.inputs.settings,
            field: &self.inputs.field,
            surfaces: &self.surfaces,
            zones: &self.zones,
            diagnosis: &self.diagnosis,
            prescription: &self.prescription,
            strips: &self.strips,
            offer: self.offer.as_ref(),
            rulebook: &self.inputs.rulebook,
            past: &self.past,
            worth: &self.worth,
            remarks: &self.inputs.remarks,
            timings: &self.timings,
        }
    }
}

/// Puts what the farm asks or holds for the field into its settings; whether the rates have to be worked out again for it.
fn shared(settings: &mut Settings, terms: &Terms<'_>, zones: &Zones) -> bool {
    if let Some(cents) = terms.allotment.and_then(|allotment| allotment.cents) {
        let square_metres: f64 = zones.zones.iter().map(|zone| zone.area_m2).sum();
        let share = cents as f64 / 100.0 / (square_metres / 10_000.0);
        let share = MoneyPerArea::from_dollars_per_hectare(share);
        if settings.budget.is_none_or(|own| share < own) {
            settings.budget = Some(share);
            settings.farm.budget = FarmBudget::Share;
        }
    }
    if let Some(stock) = terms.allotment.map(|allotment| &allotment.stock) {
        if !stock.is_empty() {
            let shed = settings.supply.shed.get_or_insert_default();
            shed.on_hand.extend(stock.iter().cloned());
        }
    }
    if terms.asks_offers {
        settings.farm.budget = FarmBudget::Asked;
    }
    terms.asks_offers || terms.allotment.is_some()
}

/// Some zones through diagnosis and rates.
fn carry(
    settings: &Settings,
    field: &Field,
    surfaces: &Surfaces,
    zones: &Zones,
    rulebook: &Rulebook,
) -> Result<(Diagnosis, Prescription), Failure> {
    let diagnosis = diagnosis::diagnose(settings, field, surfaces, zones, rulebook)?;
    let prescription = rates::prescribe(settings, field, surfaces, zones, &diagnosis, rulebook)?;
    Ok((diagnosis, prescription))
}
