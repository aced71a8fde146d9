//! Stage 8: zones by what they change. How many zones a field gets is decided on cores that were left out (`cross_validation`): each
//! asks for a treatment of its own, and what its zone's treatment costs there beyond that is the loss of a zoning, in money. The
//! fewest zones within one standard error of the least loss are drawn, and only where they save more than a map asks for (`weighing`).
//! What is drawn says what it is worth (`pricing`).
//!
//! A line between zones that get the same treatment changes nothing on the ground, so it is
//! not drawn: neighbours with the same rates, the same products held back and the same first order become one zone, and what
//! limits it and what it gets is worked out anew.

mod agreement;
mod cores;
mod cross_validation;
mod folds;
mod loss;
mod needs;
mod pricing;
mod saving;
mod small_field;
mod treatment;
mod usual_prices;
mod weighing;
mod worth;

pub use agreement::adjusted_rand;
pub use folds::{folds, tenths};
pub use saving::{Saving, within_one_standard_error};
pub use worth::{CountTried, LineWorth, ProductWorth, RateDoubt, Worth};

use crate::diagnosis::Diagnosis;
use crate::field::{Field, Grid};
use crate::plan::{FixedOrAuto, Settings};
use crate::rates::Prescription;
use crate::remark::Remark;
use crate::rulebook::Rulebook;
use crate::surface::Surfaces;
use crate::zones::{TriedParts, Zones};
use cross_validation::{Bench, Losses, Parting};
use pricing::Pricing;

/// Takes some zones of a field through diagnosis and rates.
pub type Carry<'c, E> = dyn Fn(&Settings, &Field, &Surfaces, &Zones) -> Result<(Diagnosis, Prescription), E>
    + Sync
    + 'c;

/// A field whose zonings were compared with cores that were left out.
pub struct Trial {
    bench: Option<Bench>,
    losses: Vec<Losses>,
    /// With the counts that are chosen without each core's fold.
    priced: Option<Losses>,
    worth: Worth,
    /// The zoning that was chosen; `None` where there was nothing to compare one with.
    chosen: Option<Parting>,
    why: Option<String>,
}

/// What every trial of a field's zones rests on: what each core asks for, and maps without some of the cores. It needs no zones, so it can be
/// done while they are drawn.
pub struct Groundwork {
    bench: Option<Bench>,
}

impl Groundwork {
    /// Of a field with its maps.
    ///
    /// # Errors
    /// Those of `carry`.
    pub fn new<E: Send>(
        (field, surfaces): (&Field, &Surfaces),
        settings: &Settings,
        rulebook: &Rulebook,
        carry: &Carry<'_, E>,
    ) -> Result<Self, E> {
        let bench = Bench::new(field, surfaces, settings, rulebook, carry)?;
        Ok(Self { bench })
    }
}

impl Trial {
    /// Tries one zone, two, and so on; where zones are drawn already because the plan fixes their count, those and one zone.
    ///
    /// # Errors
    /// Those of `carry`.
    pub fn new<E: Send>(
        (field, surfaces): (&Field, &Surfaces),
        drawn: Option<&Zones>,
        settings: &Settings,
        rulebook: &Rulebook,
        carry: &Carry<'_, E>,
    ) -> Result<Self, E> {
        let groundwork = Groundwork::new((field, surfaces), settings, rulebook, carry)?;
        Self::on(groundwork, field, drawn, settings, rulebook, carry)
    }

    /// The same where the groundwork is done.
    ///
    /// # Errors
    /// Those of `carry`.
    pub fn on<E: Send>(
        groundwork: Groundwork,
        field: &Field,
        drawn: Option<&Zones>,
        settings: &Settings,
        rulebook: &Rulebook,
        carry: &Carry<'_, E>,
    ) -> Result<Self, E> {
        let mut trial = Self {
            bench: None,
            losses: Vec::new(),
            priced: None,
            worth: Worth::default(),
            chosen: None,
            why: None,
        };
        let Some(bench) = groundwork.bench else {
            return Ok(trial);
        };
        let smallest = settings.zones.smallest.square_metres();
        let smallest = smallest.max(field.grid.cell.powi(2));
        let room = (field.workable_m2 / smallest).min(1e6) as usize;
        let mut partings = bench.partings(room, drawn);
        trial.losses = bench.losses(&partings, carry)?;
        let least = rulebook.numbers.cost_of_a_map;
        let words = weighing::Words {
            units: settings.units,
            is_clustered: cores::are_clustered(&bench.cores, &bench.small.grid),
        };
        let weighed = weighing::weigh(&bench, &trial.losses, least, words);
        trial.worth.tried = weighed.tried;
        trial.worth.cores = bench.cores.len();
        trial.worth.is_clustered = words.is_clustered;
        if drawn.is_some() {
            trial.priced = trial.losses.iter().find(|losses| losses.count > 1).cloned();
        } else {
            let too_small = "One zone: the field is smaller than two patches of the smallest size that the plan allows.";
            trial.why = Some(if room < 2 {
                too_small.to_owned()
            } else {
                weighed.why
            });
            trial.priced = Some(weighed.priced);
            partings.retain(|parting| parting.count == weighed.count);
            trial.chosen = partings.pop();
        }
        trial.bench = Some(bench);
        Ok(trial)
    }

    /// The plan's settings with the count that was chosen: one, where nothing could be compared.
    #[must_use]
    pub fn settings(&self, settings: &Settings) -> Settings {
        let mut settings = settings.clone();
        let count = self.chosen.as_ref().map_or(1, |chosen| chosen.count);
        settings.zones.count = FixedOrAuto::Fixed(count);
        settings
    }

    /// The zoning that was chosen, on the cells that it was tried on.
    #[must_use]
    pub fn parts(&self) -> TriedParts {
        let (bench, chosen) = (self.bench.as_ref(), self.chosen.as_ref());
        TriedParts {
            cells: bench.map_or_else(Vec::new, |bench| bench.slots.clone()),
            labels: chosen.map_or_else(Vec::new, |chosen| chosen.labels.clone()),
            count: chosen.map_or(1, |chosen| chosen.count),
        }
    }

    /// The counts that were tried, rising; empty where there was nothing to compare a zoning with.
    #[must_use]
    pub fn tried(&self) -> &[CountTried] {
        &self.worth.tried
    }

    /// Why this count, where the trial chose it.
    #[must_use]
    pub fn why(&self) -> Option<&str> {
        self.why.as_deref()
    }

    /// What the zones that are left are worth.
    ///
    /// # Errors
    /// Those of `carry`.
    pub fn worth<E: Send>(mut self, chosen: &Chosen, carry: &Carry<'_, E>) -> Result<Worth, E> {
        let of = |count: usize| self.losses.iter().find(|losses| losses.count == count);
        if let (Some(bench), Some(one), Some(own)) = (&self.bench, of(1), &self.priced) {
            let pricing = Pricing {
                bench,
                one,
                chosen: own,
                zones: chosen,
            };
            pricing.price(&mut self.worth, carry)?;
        }
        Ok(self.worth)
    }
}

/// Zones with what was worked out for them.
#[derive(Debug)]
pub struct Chosen {
    /// The zones that are worth drawing.
    pub zones: Zones,
    /// What limits each.
    pub diagnosis: Diagnosis,
    /// What each gets.
    pub prescription: Prescription,
    /// What this stage has to say.
    pub remarks: Vec<Remark>,
}

/// Joins neighbouring zones that get the same treatment. `carry` takes zones through diagnosis and rates; it is called again
/// until no two neighbours are treated alike. A plan that fixes the number of zones gets that number.
///
/// The consultant's own rates, the budget and a stock that runs short are set aside while zones are joined: own rates name zones by
/// number, so the same numbers come out with and without them, and two zones that go without for want of money still need what they need.
///
/// # Errors
/// Those of `carry`.
pub fn choose<E>(
    grid: &Grid,
    settings: &Settings,
    zones: Zones,
    mut carry: impl FnMut(&Zones, &Settings) -> Result<(Diagnosis, Prescription), E>,
) -> Result<Chosen, E> {
    let found = zones.zones.len();
    let mut zones = zones;
    if settings.zones.count == FixedOrAuto::Auto {
        let needs_alone = needs::alone(settings);
        for _ in 1..found {
            let (diagnosis, prescription) = carry(&zones, &needs_alone)?;
            let Some(groups) = treatment::alike(grid, &zones, &diagnosis, &prescription) else {
                break;
            };
            zones = zones.joined(&groups);
        }
    }
    let mut remarks = Vec::new();
    let left = zones.zones.len();
    if left < found {
        let (what, why) = words(found, left);
        zones.why = format!("{} {why}", zones.why);
        remarks.push(
            Remark::info("zones-treated-alike", what)
                .help("set zones.count to keep a number of zones"),
        );
    }
    let (diagnosis, prescription) = carry(&zones, settings)?;
    Ok(Chosen {
        zones,
        diagnosis,
        prescription,
        remarks,
    })
}

fn words(found: usize, left: usize) -> (String, String) {
    if left == 1 {
        return (
            format!(
                "the maps part the field into {found} zones, but all get the same treatment: it is one zone"
            ),
            format!("All {found} get the same treatment, so the field is one zone."),
        );
    }
    (
        format!(
            "the maps part the field into {found} zones; neighbours that get the same treatment are one, which leaves {left}"
        ),
        format!("Neighbours that get the same treatment are one zone, which leaves {left}."),
    )
}
