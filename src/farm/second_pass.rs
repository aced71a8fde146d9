//! What the farm has once for all fields, compared with what they would take; the fields that get less are worked on again. It is done where
//! the fields' results are joined, so that parts and one run come to the same.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use serde::{Deserialize, Serialize};

use super::chunk::{FieldResult, PARTS};
use super::error::FarmError;
use super::field_work::{FieldFiles, Workshop};
use super::fields::{Farm, FarmField};
use super::memory::SharedMemory;
use super::pool::side_by_side;
use super::publish::FIELDS;
use super::record::FieldRecord;
use super::share::{MoneyShare, share_money, stock_shares};
use super::work::FarmWatch;
use crate::deliver;
use crate::engine::Allotment;
use crate::error::Failure;
use crate::files::Files;

/// Names the fields whose files hold a share.
const SHARED: &str = "shared.json";
const LARGEST: u64 = 1 << 30;
/// A file that a field has only where all its files are written, and one that it has where any are.
const OF_ALL: &str = "report.html";
const OF_ANY: &str = "run.json";

/// How the results of a farm's fields are joined.
#[derive(Debug, Clone, Copy)]
pub struct JoinOptions {
    /// How many threads work on fields again that get less than they would take.
    pub threads: usize,
    /// Whether results that somebody has edited may be replaced.
    pub overwrite_edited: bool,
}

/// The fields whose files on the disk hold a share, or may do so.
#[derive(Debug, Default, PartialEq, Serialize, Deserialize)]
struct SharedFields {
    fields: BTreeSet<String>,
}

/// What each field gets, by its name.
pub(super) type Allotments = BTreeMap<String, Allotment>;

/// The results of the fields, in the order of the farm, with what the farm has for them.
pub(super) struct SharedOut {
    pub results: Vec<FieldResult>,
    /// How its money was shared out.
    pub money: Option<MoneyShare>,
    /// What the fields get that would take more than there is.
    pub allotments: Allotments,
}

/// Shares a farm out.
pub(super) struct SecondPass<'a> {
    pub farm: &'a Farm,
    pub out: &'a Path,
    pub options: JoinOptions,
    pub watch: &'a dyn FarmWatch,
}

impl SecondPass<'_> {
    /// Shares out what the farm has once.
    pub(super) fn share(&self, mut results: Vec<FieldResult>) -> Result<SharedOut, Failure> {
        let before = self.read_shared();
        let records = || records(&results);
        let mut allotments = stock_shares(&self.farm.facts.stock, records());
        self.note(&before, &allotments)?;
        self.work_again(&mut results, &allotments, true)?;
        let money = self.money(&results);
        for record in self::records(&results) {
            let id = &record.row.id;
            let limit = money.as_ref().and_then(|money| money.fields.get(id));
            if let Some(limit) = limit.filter(|limit| record.offers.spent_cents > **limit) {
                allotments.entry(id.clone()).or_default().cents = Some(*limit);
            }
        }
        self.note(&before, &allotments)?;
        let mut again: Allotments = allotments.clone();
        again.retain(|_, allotment| allotment.cents.is_some());
        // Whose files held a share before and hold none now.
        let freed = before.iter().filter(|id| !allotments.contains_key(*id));
        let freed = freed.filter(|id| self.files_of(id) != FieldFiles::None);
        again.extend(freed.map(|id| (id.clone(), Allotment::default())));
        self.work_again(&mut results, &again, false)?;
        let lost = self.lost(&results, &allotments.keys().chain(again.keys()).collect());
        let money = money.map(|money| MoneyShare {
            lost: lost.len(),
            ..money
        });
        self.write_shared(allotments.keys().cloned().chain(lost).collect())?;
        Ok(SharedOut {
            results,
            money,
            allotments,
        })
    }

    /// The fields that were worked on again and have no result now.
    fn lost(&self, results: &[FieldResult], again: &BTreeSet<&String>) -> Vec<String> {
        let fields = self.farm.fields.iter().zip(results);
        let without = fields.filter(|(_, result)| result.code().is_some());
        let ids = without.map(|(field, _)| &field.id);
        ids.filter(|id| again.contains(id)).cloned().collect()
    }

    fn money(&self, results: &[FieldResult]) -> Option<MoneyShare> {
        let limit = (self.farm.facts.budget_usd? * 100.0 + 1e-6).floor();
        let fields: Vec<_> = records(results)
            .map(|record| (record.row.id.as_str(), &record.offers))
            .collect();
        Some(share_money(limit as u64, &fields))
    }

    /// Works again on the fields that are named, each with its share.
    fn work_again(
        &self,
        results: &mut [FieldResult],
        allotments: &Allotments,
        asks_offers: bool,
    ) -> Result<(), Failure> {
        let fields = self.farm.fields.iter().enumerate();
        let jobs: Vec<(usize, &FarmField, &Allotment)> = fields
            .filter_map(|(at, field)| Some((at, field, allotments.get(&field.id)?)))
            .collect();
        if jobs.is_empty() {
            return Ok(());
        }
        let memory = SharedMemory::new(self.watch.grant().memory_limit().0);
        let is_stopped = || self.watch.is_stopped();
        let done: Mutex<BTreeMap<usize, FieldResult>> = Mutex::default();
        side_by_side(self.options.threads, jobs.len(), |job| {
            let (Some((at, field, allotment)), false) = (jobs.get(job), is_stopped()) else {
                return;
            };
            let workshop = Workshop {
                farm: self.farm,
                out: self.out,
                files: self.files_of(&field.id),
                overwrite_edited: self.options.overwrite_edited,
                grant: self.watch.grant(),
                memory: &memory,
                is_stopped: &is_stopped,
            };
            if let Some(line) = workshop.field_with(field, asks_offers, Some(allotment)) {
                let mut done = done.lock().unwrap_or_else(PoisonError::into_inner);
                done.insert(*at, line.result);
            }
        })?;
        let done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
        if done.len() < jobs.len() {
            let (done, fields) = (done.len(), jobs.len());
            return Err(FarmError::Stopped { done, fields }.into());
        }
        for (at, result) in done {
            if let Some(place) = results.get_mut(at) {
                *place = result;
            }
        }
        Ok(())
    }

    /// Which files of a field are there.
    fn files_of(&self, id: &str) -> FieldFiles {
        let files = Files::folder(self.out);
        let has = |name: &str| {
            let waiting = Path::new(PARTS).join(FIELDS).join(id);
            let is_waiting = files.is_file(&waiting.join(OF_ANY));
            let folder = match is_waiting {
                true => waiting,
                false => Path::new(FIELDS).join(id),
            };
            files.is_file(&folder.join(name))
        };
        match (has(OF_ALL), has(OF_ANY)) {
            (true, _) => FieldFiles::All,
            (false, true) => FieldFiles::Rates,
            (false, false) => FieldFiles::None,
        }
    }

    fn read_shared(&self) -> BTreeSet<String> {
        let path = Path::new(PARTS).join(SHARED);
        let bytes = Files::folder(self.out).read(&path, LARGEST);
        let read = bytes
            .ok()
            .and_then(|bytes| serde_json::from_slice(&bytes).ok());
        read.map_or_else(BTreeSet::new, |shared: SharedFields| shared.fields)
    }

    /// Notes whose files are to hold a share before the first of them does, so that whoever goes on after a stop knows of them.
    fn note(&self, before: &BTreeSet<String>, allotments: &Allotments) -> Result<(), Failure> {
        let fields = before.iter().chain(allotments.keys()).cloned();
        self.write_shared(fields.collect())
    }

    fn write_shared(&self, fields: BTreeSet<String>) -> Result<(), Failure> {
        let path = self.out.join(PARTS).join(SHARED);
        if fields.is_empty() && !path.exists() {
            return Ok(());
        }
        let text = serde_json::to_string(&SharedFields { fields }).unwrap_or_default() + "\n";
        Ok(deliver::write_file(&path, text.as_bytes(), true)?)
    }
}

fn records(results: &[FieldResult]) -> impl Iterator<Item = &FieldRecord> {
    results.iter().filter_map(|result| match result {
        FieldResult::Done(record) => Some(&**record),
        FieldResult::Problems(_) => None,
    })
}
