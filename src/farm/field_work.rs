//! The work on one field: the engine's one call, and what is kept of it.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use serde::Deserialize;

use super::chunk::{FieldResult, Line};
use super::fields::{Farm, FarmField};
use super::memory::{SharedMemory, Taken};
use super::problem::Problem;
use super::publish::waiting;
use super::record::FieldRecord;
use super::recorded::{Recorded, Seen};
use crate::deliver::{self, DeliverOptions, Delivery, FilesMade, WriteOptions};
use crate::engine::{self, Allotment, Demand, Grant, Terms, Watch};
use crate::error::{Error, Failure};

/// Which files of each field are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FieldFiles {
    /// None: the farm's tables hold the zones and rates.
    #[default]
    None,
    /// What a controller and whoever drives it need.
    Rates,
    /// All that `plan` writes.
    All,
}

/// The files of a field that a controller and whoever drives it need, by the beginning of their path.
const RATES: [&str; 6] = [
    "controller/",
    "mix.",
    "prescription.geojson",
    "report.txt",
    "run.json",
    "strips.geojson",
];

impl FieldFiles {
    /// Whether a file of a field is one of them.
    #[must_use]
    pub fn takes(self, path: &str) -> bool {
        match self {
            Self::None => false,
            Self::Rates => RATES.iter().any(|start| path.starts_with(start)),
            Self::All => true,
        }
    }

    /// What has to be made for them.
    #[must_use]
    pub fn made(self) -> FilesMade {
        match self {
            Self::None => FilesMade::MapAlone,
            Self::Rates | Self::All => FilesMade::All,
        }
    }
}

/// What all fields are worked on with.
pub(super) struct Workshop<'a> {
    pub farm: &'a Farm,
    /// The output folder. The fields' files wait there until the farm's own are made.
    pub out: &'a Path,
    pub files: FieldFiles,
    pub overwrite_edited: bool,
    pub grant: Grant,
    pub memory: &'a SharedMemory,
    pub is_stopped: &'a (dyn Fn() -> bool + Sync),
}

impl Workshop<'_> {
    /// Works on a field. `None` where the work was stopped before the field was done.
    pub(super) fn field(&self, field: &FarmField) -> Option<Line> {
        self.field_with(field, self.farm.facts.has_shares(), None)
    }

    /// The same with the field's share of what the farm has once for all fields.
    pub(super) fn field_with(
        &self,
        field: &FarmField,
        asks_offers: bool,
        allotment: Option<&Allotment>,
    ) -> Option<Line> {
        let work = AssertUnwindSafe(|| self.result_of(field, asks_offers, allotment));
        let (seen, result) =
            catch_unwind(work).unwrap_or_else(|_| (Seen::new(), Err(Error::Defect.into())));
        let result = match result {
            Ok(record) => FieldResult::Done(Box::new(record)),
            Err(failure) if is_stop(&failure) => return None,
            Err(failure) => FieldResult::Problems(Problem::all(&field.id, &field.plan, &failure)),
        };
        Some(Line {
            id: field.id.clone(),
            seen,
            result,
        })
    }

    fn result_of(
        &self,
        field: &FarmField,
        asks_offers: bool,
        allotment: Option<&Allotment>,
    ) -> (Seen, Result<FieldRecord, Failure>) {
        let opened = match self.farm.field_files(field) {
            Ok(opened) => opened,
            Err(failure) => return (Seen::new(), Err(failure)),
        };
        let recorded = Recorded::new(opened.files.clone());
        let watch = FieldWatch {
            workshop: self,
            taken: Mutex::new(None),
        };
        let terms = Terms {
            inherited: Some(&opened.inherited),
            asks_offers,
            allotment,
        };
        let run = engine::run_with(&recorded.files(), &opened.plan, &terms, &watch);
        let record = run.and_then(|run| {
            let options = DeliverOptions {
                made: self.files.made(),
                ..DeliverOptions::default()
            };
            let delivery = run.deliver_watched(&options, &watch)?;
            let record = FieldRecord::new(&field.id, &field.plan, &run, &delivery)?;
            drop(run);
            self.write(field, delivery)?;
            Ok(record)
        });
        (recorded.seen(), record)
    }

    /// Writes the files of a field, where they are asked for.
    fn write(&self, field: &FarmField, mut delivery: Delivery) -> Result<(), Failure> {
        if self.files == FieldFiles::None {
            return Ok(());
        }
        delivery.files.retain(|file| self.files.takes(&file.path));
        let options = WriteOptions {
            overwrite_edited: self.overwrite_edited,
            is_stopped: self.is_stopped,
        };
        let folder = waiting(self.out, &field.id);
        Ok(deliver::write_with(&delivery, &folder, options)?)
    }
}

/// Whether the work was stopped from outside.
fn is_stop(failure: &Failure) -> bool {
    let mut errors = failure.errors().iter();
    errors.any(|error| {
        matches!(
            error,
            Error::Cancelled | Error::Deliver(deliver::DeliverError::Stopped)
        )
    })
}

/// Watches one field: gives it memory when there is some, and stops it where the farm is stopped.
struct FieldWatch<'a> {
    workshop: &'a Workshop<'a>,
    taken: Mutex<Option<Taken<'a>>>,
}

impl Watch for FieldWatch<'_> {
    fn grant(&self) -> Grant {
        self.workshop.grant
    }

    fn expects(&self, demand: &Demand) {
        let taken = self.workshop.memory.take(demand.memory);
        *self.taken.lock().unwrap_or_else(PoisonError::into_inner) = Some(taken);
    }

    fn is_cancelled(&self) -> bool {
        (self.workshop.is_stopped)()
    }
}
