//! The farm's own files, made from what is kept of each field alone, so that one machine and many give the same bytes.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::path::Path;

use super::chunk::{self, FieldResult, chunk_of};
use super::error::FarmError;
use super::fields::Farm;
use super::out_folder::{FARM_RECORD, Manifest, begun};
use super::problem::Problem;
use super::publish::{FIELDS as FIELD_FOLDERS, publish};
use super::record::FieldRecord;
use super::second_pass::{JoinOptions, SecondPass, SharedOut};
use super::share::MoneyShare;
use super::tables::{self, FieldOutcome};
use super::work::FarmWatch;
use super::{farm_record, own_files, problem_table};
use crate::deliver::{self, OutputFile, Shared};
use crate::engine::Allotment;
use crate::error::{Failure, Outcome};
use crate::files::Files;
use crate::remark::Remark;

/// Most fields without a result that are named in a message.
const MOST_NAMED: usize = 10;

/// A farm that is done.
#[derive(Debug)]
pub struct FarmResult {
    /// What is kept of each field that has a result, in the order of the farm.
    pub records: Vec<FieldRecord>,
    /// What is wrong with the others.
    pub problems: Vec<Problem>,
    /// The farm's own files, below the output folder.
    pub files: Vec<String>,
    /// What was noticed in the output folder.
    pub remarks: Vec<Remark>,
    /// How the farm's budget was shared out, where it has one.
    pub money: Option<MoneyShare>,
    /// What the fields get of the farm's money and stock that would take more than there is, by their names.
    pub allotments: BTreeMap<String, Allotment>,
}

impl FarmResult {
    /// How the farm ended. Fields without a result leave the others as they are: the farm is refused only where no field has one.
    #[must_use]
    pub fn outcome(&self) -> Outcome {
        let has_failed = self.problems.iter().any(|problem| problem.code == 3);
        let has_looks = !self.remarks.is_empty()
            || self
                .records
                .iter()
                .any(|record| !record.row.looks.is_empty());
        if has_failed {
            Outcome::Failed
        } else if self.records.is_empty() {
            Outcome::Refused
        } else if has_looks || !self.problems.is_empty() {
            Outcome::Look
        } else {
            Outcome::Done
        }
    }

    /// How many fields have no result.
    #[must_use]
    pub fn without_result(&self) -> usize {
        let ids: BTreeSet<&str> = self
            .problems
            .iter()
            .map(|problem| problem.id.as_str())
            .collect();
        ids.len()
    }
}

/// Makes the farm's files from its chunks and writes them. Where the farm has a budget or a stock, it is shared out first, and the fields
/// that get less than they would take are worked on again.
///
/// # Errors
/// Where the folder was not begun, fields have not been worked on yet, the work was stopped, or the disk refuses.
pub fn join(
    farm: &Farm,
    out: &Path,
    options: JoinOptions,
    watch: &dyn FarmWatch,
) -> Result<FarmResult, Failure> {
    let manifest = require_begun(out)?;
    let second_pass = SecondPass {
        farm,
        out,
        options,
        watch,
    };
    let SharedOut {
        results,
        money,
        allotments,
    } = second_pass.share(read_all(farm, out, &manifest)?)?;
    let (records, problems, done) = sorted_out(results);
    let outcomes: Vec<FieldOutcome<'_>> = done
        .into_iter()
        .map(|done| match done {
            Ok(at) => FieldOutcome::Done(&records[at].row),
            Err(range) => FieldOutcome::Problems(&problems[range]),
        })
        .collect();
    let files = own_files(farm, &records, (&problems, &outcomes), money.as_ref())?;
    let with_result: BTreeSet<&str> = (records.iter())
        .map(|record| record.row.id.as_str())
        .collect();
    publish(
        farm,
        out,
        (options.overwrite_edited, options.threads),
        |id| with_result.contains(id),
        || {
            Ok(deliver::write_set(
                out,
                &files,
                FARM_RECORD,
                options.overwrite_edited,
            )?)
        },
    )?;
    let remarks = [left_over(farm, out), without_rates(farm, out, &with_result)];
    Ok(FarmResult {
        remarks: remarks.into_iter().flatten().collect(),
        files: files.into_iter().map(|file| file.path).collect(),
        records,
        problems,
        money,
        allotments,
    })
}

/// What the folder was begun with; a farm that was not begun cannot be joined.
fn require_begun(out: &Path) -> Result<Manifest, FarmError> {
    begun(out)?.ok_or_else(|| FarmError::OtherRun {
        folder: out.to_owned(),
        what: "was not begun by \"lowstave farm\"".to_owned(),
        help: "name the folder that was given by --out",
    })
}

/// What is kept of the fields that have a result, the problems of the others, and for each field in its order which of them are its own.
type SortedOut = (
    Vec<FieldRecord>,
    Vec<Problem>,
    Vec<Result<usize, Range<usize>>>,
);

fn sorted_out(results: Vec<FieldResult>) -> SortedOut {
    let (mut records, mut problems, mut done) = (Vec::new(), Vec::new(), Vec::new());
    for result in results {
        match result {
            FieldResult::Done(record) => {
                done.push(Ok(records.len()));
                records.push(*record);
            }
            FieldResult::Problems(found) => {
                let start = problems.len();
                problems.extend(found);
                done.push(Err(start..problems.len()));
            }
        }
    }
    (records, problems, done)
}

/// Folders of fields that the farm no longer has: whoever loads them would load an old prescription.
fn left_over(farm: &Farm, out: &Path) -> Option<Remark> {
    let own: BTreeSet<&str> = farm.fields.iter().map(|field| field.id.as_str()).collect();
    let words = "of fields that the farm does not have";
    old_folders(out, "fields-left-over", words, |name| !own.contains(name))
}

/// Folders that an earlier run left of fields that have no rates now.
fn without_rates(farm: &Farm, out: &Path, with_result: &BTreeSet<&str>) -> Option<Remark> {
    let ids = farm.fields.iter().map(|field| field.id.as_str());
    let without: BTreeSet<&str> = ids.filter(|id| !with_result.contains(id)).collect();
    let words = "of an earlier run, of fields that have no rates now";
    old_folders(out, "fields-of-earlier-run", words, |name| {
        without.contains(name)
    })
}

fn old_folders(
    out: &Path,
    code: &'static str,
    words: &str,
    is_old: impl Fn(&str) -> bool,
) -> Option<Remark> {
    let mut folders = Files::folder(out).folders_in(Path::new(FIELD_FOLDERS));
    folders.retain(|name| is_old(name) && !name.starts_with('.'));
    let named: Vec<&str> = folders
        .iter()
        .take(MOST_NAMED)
        .map(String::as_str)
        .collect();
    (!folders.is_empty()).then(|| {
        let what = format!(
            "\"{FIELD_FOLDERS}\" holds folders {words} ({} in all): {}",
            folders.len(),
            named.join(", ")
        );
        Remark::warning(code, what).help("delete them before somebody loads them into a controller")
    })
}

/// How the budget was shared out, for whoever prints it.
fn shared(money: &MoneyShare, records: &[FieldRecord]) -> Shared {
    let printed = |id: &String| {
        let record = records.iter().find(|record| record.row.id == *id);
        record.map_or_else(|| id.clone(), |record| record.row.field.clone())
    };
    Shared {
        limit: money.limit,
        wanted: money.wanted,
        short: money.short_fields.iter().map(printed).collect(),
        beyond: money.decided.saturating_sub(money.limit),
        of_best: money.of_best(),
        lost: money.lost,
    }
}

fn own_files(
    farm: &Farm,
    records: &[FieldRecord],
    (problems, outcomes): (&[Problem], &[FieldOutcome<'_>]),
    money: Option<&MoneyShare>,
) -> Result<Vec<OutputFile>, Failure> {
    let mut files = vec![problem_table::file(problems)];
    files.push(tables::zones(records)?);
    files.push(tables::fields(outcomes)?);
    files.extend(own_files::own_files(
        &farm.facts,
        records,
        problems,
        money.map(|money| shared(money, records)),
    )?);
    // A build without Parquet makes no tables of it.
    files.retain(|file| !file.bytes.is_empty());
    files.sort_by(|a, b| a.path.cmp(&b.path));
    let counts = (farm.fields.len(), farm.fields.len() - records.len());
    files.push(farm_record::file(&farm.facts.farm, counts, &files));
    Ok(files)
}

/// What came of each field, in the order of the farm.
fn read_all(farm: &Farm, out: &Path, manifest: &Manifest) -> Result<Vec<FieldResult>, Failure> {
    let files = Files::folder(out);
    let mut by_field = BTreeMap::new();
    let chunks: BTreeSet<u32> = farm
        .fields
        .iter()
        .map(|field| chunk_of(&field.id, manifest.chunks))
        .collect();
    for number in chunks {
        let Some(chunk) = chunk::read(&files, number)? else {
            continue;
        };
        if chunk.head.is_of_this_program() {
            let lines = chunk.lines.into_iter();
            by_field.extend(lines.map(|(id, (_, line))| (id, line.result)));
        }
    }
    let missing: Vec<&str> = farm
        .fields
        .iter()
        .map(|field| field.id.as_str())
        .filter(|id| !by_field.contains_key(*id))
        .collect();
    if !missing.is_empty() {
        return Err(incomplete(farm, out, manifest, &missing).into());
    }
    let found = farm
        .fields
        .iter()
        .filter_map(|field| by_field.remove(&field.id));
    Ok(found.collect())
}

fn incomplete(farm: &Farm, out: &Path, manifest: &Manifest, missing: &[&str]) -> FarmError {
    let which = match manifest.parts {
        Some(of) => {
            let parts: BTreeSet<u32> = missing
                .iter()
                .map(|id| chunk_of(id, manifest.chunks) % of + 1)
                .collect();
            let parts: Vec<String> = parts.iter().map(|part| format!("{part}/{of}")).collect();
            format!("part {}", parts.join(", "))
        }
        None => {
            let rest = missing.len().saturating_sub(MOST_NAMED);
            let named: Vec<&str> = missing.iter().take(MOST_NAMED).copied().collect();
            let more = if rest > 0 {
                format!(" and {rest} more")
            } else {
                String::new()
            };
            named.join(", ") + &more
        }
    };
    FarmError::Incomplete {
        folder: out.to_owned(),
        missing: missing.len(),
        fields: farm.fields.len(),
        which,
    }
}
