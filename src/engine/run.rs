use std::path::Path;
use std::sync::Arc;

use super::earlier_harvest::earlier_harvest;
use super::fewer_zones::fewer_than_asked;
use super::guarded;
use super::inputs::Inputs;
use super::kept::{Kept, SurfacesKey, Treated, TreatedKey};
use super::past;
use super::stopwatch::Stopwatch;
use super::terms::Terms;
use super::watch::{Step, Unwatched, Watch};
use crate::choice::{self, Groundwork, Trial, Worth};
use crate::deliver::{self, DeliverOptions, Delivery, SeasonValues, Sheet, StageValues};
use crate::diagnosis::{self, Diagnosis};
use crate::error::{Error, Failure};
use crate::field::Field;
use crate::files::Files;
use crate::past::{PastRun, SinceLastTime, Today, earlier_salt, own_trials};
use crate::plan::{FarmBudget, FixedOrAuto, Purpose, Settings};
use crate::rates::{self, Prescription};
use crate::remark::Remark;
use crate::rulebook::Rulebook;
use crate::surface::{self, Surfaces};
use crate::trial::{self, EarlierHarvest, Laid, LayingGround, StripPlan, TrialError};
use crate::units::MoneyPerArea;
use crate::zones::{self, Zones};

/// A finished run: the value of every stage from the plan to the rates.
#[derive(Debug)]
pub struct Run {
    inputs: Inputs,
    surfaces: Arc<Surfaces>,
    treated: Arc<Treated>,
    /// The rates with what the check strips change of the totals.
    prescription: Prescription,
    strips: StripPlan,
    offer: Option<StripPlan>,
    past: SeasonValues,
    timings: Vec<(&'static str, f64)>,
}

impl Run {
    /// Runs all stages up to the rates, as far as their values are not kept from before.
    pub(super) fn new(
        files: &Files,
        plan: &Path,
        terms: &Terms<'_>,
        watch: &dyn Watch,
        kept: &mut Kept,
    ) -> Result<Self, Failure> {
        let mut time = Stopwatch::new(watch);
        let mut inputs = Inputs::read(files, plan, Purpose::Rates, terms, &mut time, kept)?;
        let surfaces = surfaces(&inputs, &mut time, kept)?;
        inputs.remarks.extend(surfaces.remarks.iter().cloned());
        let beside = files.beside(plan);
        let earlier = earlier_harvest(&beside, &inputs.settings, &inputs.field, &mut inputs.files)?;
        let runs = past::past_runs(&beside, &inputs.settings, &mut inputs.files)?;
        let treated = treated(&mut inputs, &surfaces, &runs, &mut time, kept)?;
        let treated = shared_out(&mut inputs, &surfaces, treated, terms)?;
        inputs.remarks.extend(treated.remarks.iter().cloned());
        let past = past_values(&beside, &mut inputs, &treated, runs)?;
        let (laid, offer) = strips(&inputs, &treated, earlier.as_ref(), &mut time)?;
        let stages = [&treated.diagnosis.remarks, &treated.prescription.remarks];
        inputs
            .remarks
            .extend(stages.into_iter().flatten().chain(&laid.remarks).cloned());
        let mut prescription = treated.prescription.clone();
        prescription.count_strips(
            &laid.plan.rates(),
            inputs.settings.machine.tank,
            &inputs.rulebook,
        );
        Ok(Self {
            inputs,
            surfaces,
            treated,
            prescription,
            strips: laid.plan,
            offer,
            past,
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

    /// The thresholds in force.
    #[must_use]
    pub fn rulebook(&self) -> &Rulebook {
        &self.inputs.rulebook
    }

    /// Whether another run has the very same maps, and not only equal ones.
    #[must_use]
    pub fn has_maps_of(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.surfaces, &other.surfaces)
    }

    /// Whether another run of the same session read the very same files, so that a run of this one's plan would give this one again.
    /// `false` where it cannot be told: results and earlier seasons are read anew in each run.
    #[must_use]
    pub fn has_files_of(&self, other: &Self) -> bool {
        let reads_no_more = |run: &Self| {
            let settings = run.settings();
            settings.results.is_empty() && settings.past.is_empty()
        };
        Arc::ptr_eq(&self.inputs.field, &other.inputs.field)
            && reads_no_more(self)
            && reads_no_more(other)
    }

    /// The zones.
    #[must_use]
    pub fn zones(&self) -> &Zones {
        &self.treated.zones
    }

    /// What limits each zone.
    #[must_use]
    pub fn diagnosis(&self) -> &Diagnosis {
        &self.treated.diagnosis
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
        &self.treated.worth
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

    /// What the page in the browser shows of the run.
    ///
    /// # Errors
    /// As [`Run::deliver`].
    pub fn sheet(&self) -> Result<Sheet, Failure> {
        guarded(|| Ok(Sheet::new(&self.stage_values())?))
    }

    /// A zone's chapter of the report as markup, for the page in the browser; `None` where there is no such zone.
    ///
    /// # Errors
    /// As [`Run::deliver`].
    pub fn chapter(&self, zone: u32) -> Result<Option<String>, Failure> {
        guarded(|| Ok(deliver::chapter(&self.stage_values(), zone)?))
    }

    /// The charts of the cone pushes as markup, for the page in the browser; empty where there are none.
    ///
    /// # Errors
    /// As [`Run::deliver`].
    pub fn cones(&self) -> Result<String, Failure> {
        guarded(|| Ok(deliver::cones(&self.stage_values())?))
    }

    fn stage_values(&self) -> StageValues<'_> {
        StageValues {
            settings: &self.inputs.settings,
            field: &self.inputs.field,
            inputs: &self.inputs.files,
            surfaces: &self.surfaces,
            zones: &self.treated.zones,
            diagnosis: &self.treated.diagnosis,
            prescription: &self.prescription,
            strips: &self.strips,
            offer: self.offer.as_ref(),
            rulebook: &self.inputs.rulebook,
            past: &self.past,
            worth: &self.treated.worth,
            remarks: &self.inputs.remarks,
            timings: &self.timings,
        }
    }
}

/// The maps.
fn surfaces(
    inputs: &Inputs,
    time: &mut Stopwatch<'_>,
    kept: &mut Kept,
) -> Result<Arc<Surfaces>, Failure> {
    let key = SurfacesKey {
        field: Arc::clone(&inputs.field),
        settings: inputs.settings.surface.clone(),
    };
    kept.surfaces.get(key, || {
        let drawn = time.time(Step::Surface, || {
            surface::interpolate(&inputs.field, &inputs.settings.surface)
        })?;
        Ok(drawn?)
    })
}

/// Zones, what limits them, what they get and what they are worth. What earlier seasons say of the ground goes into the rulebook first.
fn treated(
    inputs: &mut Inputs,
    surfaces: &Arc<Surfaces>,
    runs: &[PastRun],
    time: &mut Stopwatch<'_>,
    kept: &mut Kept,
) -> Result<Arc<Treated>, Failure> {
    if !runs.is_empty() {
        let rulebook = Arc::make_mut(&mut inputs.rulebook);
        rulebook.own_trials = own_trials(runs, &inputs.settings.crop);
        rulebook.earlier_salt = earlier_salt(runs, &inputs.field);
    }
    let inputs = &*inputs;
    let key = TreatedKey::new(&inputs.field, surfaces, &inputs.rulebook, &inputs.settings);
    kept.treated.get(key, || treat(inputs, surfaces, time))
}

fn treat(
    inputs: &Inputs,
    surfaces: &Surfaces,
    time: &mut Stopwatch<'_>,
) -> Result<Treated, Failure> {
    let (settings, field, rulebook) = (&inputs.settings, &*inputs.field, &*inputs.rulebook);
    let watch = time.watch();
    let carry_on = |settings: &Settings, field: &Field, surfaces: &Surfaces, zones: &Zones| {
        if watch.is_cancelled() {
            return Err(Error::Cancelled.into());
        }
        carry(settings, field, surfaces, zones, rulebook)
    };
    let groundwork = || Groundwork::new((field, surfaces), settings, rulebook, &carry_on);
    let (trial, mut zones) = if settings.zones.count == FixedOrAuto::Auto {
        let try_out = || Trial::on(groundwork()?, field, None, settings, rulebook, &carry_on);
        let trial = time.time(Step::Choice, try_out)??;
        let (counted, parts) = (trial.settings(settings), trial.parts());
        let draw = || zones::delineate_tried(field, surfaces, &counted, &parts);
        let zones = time.time(Step::Zones, draw)??;
        (trial, zones)
    } else {
        let draw = || zones::delineate(field, surfaces, settings);
        let (zones, ready) = time.time(Step::Zones, || rayon::join(draw, groundwork))?;
        let (zones, ready) = (zones?, ready?);
        let try_out = || Trial::on(ready, field, Some(&zones), settings, rulebook, &carry_on);
        let trial = time.time(Step::Choice, try_out)??;
        (trial, zones)
    };
    if let Some(why) = trial.why().filter(|_| !zones.layers.is_empty()) {
        why.clone_into(&mut zones.why);
    }
    if let Some(why) = fewer_than_asked(settings, &zones) {
        zones.why = why;
    }
    let mut remarks = zones.remarks.clone();
    let undrawn = without_drawn_places(settings);
    let chosen = choice::choose(&field.grid, &undrawn, zones, |zones, settings| {
        judged(inputs, settings, surfaces, zones, time)
    })?;
    let worth = time.time(Step::Choice, || trial.worth(&chosen, &carry_on))??;
    remarks.extend(chosen.remarks.iter().cloned());
    let treated = Treated {
        zones: chosen.zones,
        diagnosis: chosen.diagnosis,
        prescription: chosen.prescription,
        worth,
        remarks,
    };
    if undrawn.overrides.len() == settings.overrides.len() {
        return Ok(treated);
    }
    with_drawn_places(treated, inputs, surfaces, time)
}

/// What limits some zones and what they get.
fn judged(
    inputs: &Inputs,
    settings: &Settings,
    surfaces: &Surfaces,
    zones: &Zones,
    time: &mut Stopwatch<'_>,
) -> Result<(Diagnosis, Prescription), Failure> {
    let (field, rulebook) = (&*inputs.field, &*inputs.rulebook);
    let diagnosis = time.time(Step::Diagnosis, || {
        diagnosis::diagnose(settings, field, surfaces, zones, rulebook)
    })??;
    let prescription = time.time(Step::Rates, || {
        rates::prescribe(settings, field, surfaces, zones, &diagnosis, rulebook)
    })??;
    Ok((diagnosis, prescription))
}

/// The places that the plan draws, cut out of the zones; what limits each and what it gets is worked out anew.
fn with_drawn_places(
    treated: Treated,
    inputs: &Inputs,
    surfaces: &Surfaces,
    time: &mut Stopwatch<'_>,
) -> Result<Treated, Failure> {
    let settings = &inputs.settings;
    let before = numbers_of(&treated.diagnosis);
    let mut redrawn = time.time(Step::Zones, || {
        zones::with_drawn_places(treated.zones, &inputs.field, settings)
    })??;
    for (zone, undrawn) in redrawn.zones.undrawn.iter_mut().enumerate() {
        undrawn.number = before.iter().find(|own| own.0 == zone).map(|own| own.1);
    }
    let (diagnosis, prescription) = judged(inputs, settings, surfaces, &redrawn.zones, time)?;
    let now = numbers_of(&diagnosis);
    let mut worth = treated.worth;
    worth.renumber(|number| {
        let zone = before.iter().find(|(_, own)| *own == number)?.0;
        let zone = redrawn.became.get(zone).copied().flatten()?;
        Some(now.iter().find(|(own, _)| *own == zone)?.1)
    });
    Ok(Treated {
        zones: redrawn.zones,
        diagnosis,
        prescription,
        worth,
        remarks: treated.remarks,
    })
}

/// The settings without rates for drawn places: the zones are chosen by what the maps say, and the places are drawn into them.
fn without_drawn_places(settings: &Settings) -> Settings {
    let mut settings = settings.clone();
    settings.overrides.retain(|said| said.inside.is_empty());
    settings
}

/// The place of each zone on the map with its number.
fn numbers_of(diagnosis: &Diagnosis) -> Vec<(usize, u32)> {
    let zones = diagnosis.zones.iter();
    zones.map(|zone| (zone.zone, zone.number)).collect()
}

/// What earlier seasons and this season's logs bring.
fn past_values(
    files: &Files,
    inputs: &mut Inputs,
    treated: &Treated,
    runs: Vec<PastRun>,
) -> Result<SeasonValues, Failure> {
    let logs = past::logs(
        files,
        &inputs.settings,
        (&inputs.field, &treated.prescription),
        &runs,
        (&mut inputs.files, &mut inputs.remarks),
    )?;
    let today = Today {
        settings: &inputs.settings,
        field: &inputs.field,
        zones: &treated.zones,
        diagnosis: &treated.diagnosis,
        numbers: &inputs.rulebook.numbers,
    };
    past::compare(today, runs, logs)
}

/// The check strips, and where the plan asks for none what they could show.
fn strips(
    inputs: &Inputs,
    treated: &Treated,
    earlier: Option<&EarlierHarvest>,
    time: &mut Stopwatch<'_>,
) -> Result<(Laid, Option<StripPlan>), Failure> {
    let ground = LayingGround {
        settings: &inputs.settings,
        field: &inputs.field,
        zones: &treated.zones,
        prescription: &treated.prescription,
        rulebook: &inputs.rulebook,
        earlier,
    };
    let laid = time.time(Step::Trial, || {
        let offer = match inputs.settings.strips {
            Some(_) => None,
            None => trial::offer(ground)?,
        };
        Ok::<_, Vec<TrialError>>((trial::lay(ground)?, offer))
    })?;
    Ok(laid?)
}

/// The same zones with what the farm leaves for them, where the field is one of a farm that asks or shares.
fn shared_out(
    inputs: &mut Inputs,
    surfaces: &Surfaces,
    treated: Arc<Treated>,
    terms: &Terms<'_>,
) -> Result<Arc<Treated>, Failure> {
    if !shared(&mut inputs.settings, terms, &treated.zones) {
        return Ok(treated);
    }
    let prescription = rates::prescribe(
        &inputs.settings,
        &inputs.field,
        surfaces,
        &treated.zones,
        &treated.diagnosis,
        &inputs.rulebook,
    )?;
    Ok(Arc::new(Treated {
        prescription,
        ..(*treated).clone()
    }))
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
    let stock = terms.allotment.map(|allotment| &allotment.stock);
    if let Some(stock) = stock.filter(|stock| !stock.is_empty()) {
        let shed = settings.supply.shed.get_or_insert_default();
        shed.on_hand.extend(stock.iter().cloned());
    }
    if terms.asks_offers {
        settings.farm.budget = FarmBudget::Asked;
    }
    terms.asks_offers || terms.allotment.is_some()
}

/// Some zones through diagnosis and rates, where they are only compared.
fn carry(
    settings: &Settings,
    field: &Field,
    surfaces: &Surfaces,
    zones: &Zones,
    rulebook: &Rulebook,
) -> Result<(Diagnosis, Prescription), Failure> {
    let diagnosis = diagnosis::diagnose_without_words(settings, field, surfaces, zones, rulebook)?;
    let prescription =
        rates::prescribe_without_words(settings, field, surfaces, zones, &diagnosis, rulebook)?;
    Ok((diagnosis, prescription))
}
