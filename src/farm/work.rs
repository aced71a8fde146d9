//! The loop over a farm's fields: chunk by chunk, the heaviest first, side by side.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Mutex, MutexGuard, PoisonError};

use super::chunk::{self, FieldResult, Head, Line, chunk_of};
use super::error::FarmError;
use super::field_work::{FieldFiles, Workshop};
use super::fields::{Farm, FarmField};
use super::memory::SharedMemory;
use super::out_folder::{self, Beginning};
use super::part::Part;
use super::pool::side_by_side;
use super::publish::{placed, require_replaceable, waiting};
use super::recorded::is_unchanged;
use crate::deliver::{self, FinishedRun};
use crate::engine::Grant;
use crate::error::Failure;
use crate::files::Files;

/// Above so many fields nobody looks at the size of each: the list alone would take minutes.
const MOST_WEIGHED: usize = 20_000;

/// How a farm is worked on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FarmOptions {
    /// The farm file or folder, as it is known to whoever joins the parts.
    pub farm: String,
    /// Which files of each field are written.
    pub files: FieldFiles,
    /// Whether fields whose inputs have not changed keep their result.
    pub resume: bool,
    /// The share of the farm that is worked on; all of it where absent.
    pub part: Option<Part>,
    /// How many threads.
    pub threads: usize,
    /// Whether results that somebody has edited may be replaced.
    pub overwrite_edited: bool,
}

/// Who is told how far the farm is, and may stop it.
pub trait FarmWatch: Sync {
    /// What the machine gives; asked once.
    fn grant(&self) -> Grant {
        Grant::default()
    }

    /// The work begins on so many fields; of so many others the result is kept.
    fn begins(&self, _fields: usize, _kept: usize) {}

    /// A field is done; whether it has a result.
    fn done(&self, _field: &FarmField, _has_result: bool) {}

    /// Whether the work is no longer wanted; asked now and then.
    fn is_stopped(&self) -> bool {
        false
    }
}

/// How many fields were worked on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Worked {
    /// Fields that are in the share.
    pub fields: usize,
    /// Of them, those whose result was kept.
    pub kept: usize,
    /// Of those that were worked on, the ones whose input cannot be used.
    pub refused: usize,
    /// Of those that were worked on, the ones at which the program or the machine failed; they may be tried again.
    pub failed: usize,
}

/// A chunk in the making.
struct Making<'f> {
    number: u32,
    head: Head,
    /// Its fields that are not done yet.
    fields: Vec<&'f FarmField>,
    state: Mutex<State>,
}

struct State {
    /// Lines that are done, by name of the field, until the chunk is written.
    lines: BTreeMap<String, String>,
    /// How many fields are still to be done.
    left: usize,
    refused: usize,
    failed: usize,
    /// Why the chunk cannot be written.
    failure: Option<Failure>,
}

impl Making<'_> {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Works on the fields of a farm, or on a share of them; each chunk is written as soon as its fields are done.
///
/// # Errors
/// Where the output folder cannot be used, where the work was stopped, or where the disk refuses. What is wrong with one field stands in its
/// chunk.
pub fn work(
    farm: &Farm,
    out: &Path,
    options: &FarmOptions,
    watch: &dyn FarmWatch,
) -> Result<Worked, Failure> {
    let begun = out_folder::begin(
        out,
        Beginning {
            farm: &options.farm,
            fields: farm.fields.len(),
            resume: options.resume,
            part: options.part,
        },
    )?;
    let shares = shares(farm, begun.chunks, options.part);
    if options.files == FieldFiles::None {
        // Of a run that was stopped and that was to write some.
        let mut own = shares.values().flatten();
        own.try_for_each(|field| deliver::throw_away(&waiting(out, &field.id)))?;
    } else {
        let own: Vec<&FarmField> = shares.values().flatten().copied().collect();
        require_replaceable(out, &own, options.overwrite_edited, options.threads)?;
    }
    let (mut making, mut worked) = (Vec::new(), Worked::default());
    for (number, fields) in shares {
        let count = fields.len();
        worked.fields += count;
        let left = match prepare(farm, out, options, number, begun.chunks, fields) {
            Some(chunk) => {
                let left = chunk.fields.len();
                making.push(chunk);
                left
            }
            None => 0,
        };
        worked.kept += count - left;
    }
    let jobs = in_order(farm, &making);
    watch.begins(worked.fields - worked.kept, worked.kept);
    let memory = SharedMemory::new(watch.grant().memory_limit().0);
    let is_stopped = || watch.is_stopped();
    let workshop = Workshop {
        farm,
        out,
        files: options.files,
        overwrite_edited: options.overwrite_edited,
        grant: watch.grant(),
        memory: &memory,
        is_stopped: &is_stopped,
    };
    // Chunks of which all fields are kept, but which hold others too.
    making.iter().for_each(|chunk| finish_if_done(out, chunk));
    side_by_side(options.threads, jobs.len(), |job| {
        if let (Some((chunk, field)), false) = (jobs.get(job), watch.is_stopped()) {
            one_field(&workshop, chunk, field, watch);
        }
    })?;
    ended(making, worked)
}

/// The chunks of a share with their fields.
fn shares(farm: &Farm, chunks: u32, part: Option<Part>) -> BTreeMap<u32, Vec<&FarmField>> {
    let mut shares: BTreeMap<u32, Vec<&FarmField>> = BTreeMap::new();
    for field in &farm.fields {
        let chunk = chunk_of(&field.id, chunks);
        if part.is_none_or(|part| part.holds(chunk)) {
            shares.entry(chunk).or_default().push(field);
        }
    }
    shares
}

/// A chunk with the lines that can be kept; `None` where its file is as it would be written.
fn prepare<'f>(
    farm: &Farm,
    out: &Path,
    options: &FarmOptions,
    number: u32,
    chunks: u32,
    fields: Vec<&'f FarmField>,
) -> Option<Making<'f>> {
    let fingerprint = fingerprint(farm, options.files);
    let head = Head::new(&fingerprint, number, chunks, fields.len());
    let may_keep = options.resume || options.part.is_some();
    // A chunk that cannot be read is made again.
    let found = chunk::read(&Files::folder(out), number).ok().flatten();
    let found = found.filter(|found| may_keep && head.fits(&found.head));
    let (mut lines, mut left) = (BTreeMap::new(), Vec::new());
    for field in fields {
        let line = found.as_ref().and_then(|found| found.lines.get(&field.id));
        match line {
            Some((text, line)) if may_be_kept(farm, out, options.files, field, line) => {
                lines.insert(field.id.clone(), text.clone());
            }
            _ => left.push(field),
        }
    }
    if left.is_empty() && found.is_some_and(|found| found.head == head) {
        return None;
    }
    let state = State {
        lines,
        left: left.len(),
        refused: 0,
        failed: 0,
        failure: None,
    };
    Some(Making {
        number,
        head,
        fields: left,
        state: Mutex::new(state),
    })
}

/// What a kept result was made from beside the field's own files. Where files of the fields are written, they hold what was shared out.
fn fingerprint(farm: &Farm, files: FieldFiles) -> String {
    match files {
        FieldFiles::None if farm.facts.has_shares() => format!("{} shared", farm.fingerprint()),
        FieldFiles::None => farm.fingerprint(),
        _ => format!("{} {files:?} {:?}", farm.fingerprint(), farm.facts),
    }
}

fn may_be_kept(farm: &Farm, out: &Path, files: FieldFiles, field: &FarmField, line: &Line) -> bool {
    let is_there = || {
        let run = FinishedRun::open(&waiting(out, &field.id));
        let run = run.or_else(|_| FinishedRun::open(&placed(out, &field.id)));
        run.is_ok_and(|run| {
            let changes = run.changes();
            changes
                .iter()
                .all(|change| change.is_gone && files == FieldFiles::Rates)
        })
    };
    let is_complete = match (&line.result, files) {
        (FieldResult::Problems(_), _) | (_, FieldFiles::None) => true,
        _ => is_there(),
    };
    line.result.code() != Some(3)
        && is_complete
        && farm
            .field_files(field)
            .is_ok_and(|opened| is_unchanged(&opened.files, &line.seen))
}

/// The fields that are to be done: chunks with a heavy field first, and in each the heavy ones first, so that none is left to the end.
fn in_order<'m, 'f>(farm: &Farm, making: &'m [Making<'f>]) -> Vec<(&'m Making<'f>, &'f FarmField)> {
    let is_weighed = farm.fields.len() <= MOST_WEIGHED;
    let mut chunks: Vec<Vec<(u64, &Making<'f>, &'f FarmField)>> = making
        .iter()
        .map(|chunk| {
            let weighed = chunk.fields.iter().map(|field| {
                let weight = if is_weighed { farm.weight(field) } else { 0 };
                (weight, chunk, *field)
            });
            let mut fields: Vec<_> = weighed.collect();
            fields.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.2.id.cmp(&b.2.id)));
            fields
        })
        .collect();
    chunks.sort_by_key(|fields| std::cmp::Reverse(fields.first().map_or(0, |first| first.0)));
    let all = chunks.into_iter().flatten();
    all.map(|(_, chunk, field)| (chunk, field)).collect()
}

fn one_field(
    workshop: &Workshop<'_>,
    chunk: &Making<'_>,
    field: &FarmField,
    watch: &dyn FarmWatch,
) {
    let Some(line) = workshop.field(field) else {
        return;
    };
    let code = line.result.code();
    let text = line.text();
    let mut state = chunk.state();
    match text {
        Ok(text) => drop(state.lines.insert(line.id, text)),
        Err(error) => state.failure = Some(error.into()),
    }
    state.left -= 1;
    state.refused += usize::from(code == Some(2));
    state.failed += usize::from(code == Some(3));
    // Of two fields that end at the same moment, only the last writes the chunk: its lines are there once.
    let is_last = state.left == 0;
    drop(state);
    if is_last {
        finish_if_done(workshop.out, chunk);
    }
    watch.done(field, code.is_none());
}

/// Writes a chunk once all its fields are done; its lines are then on the disk and no longer in memory.
fn finish_if_done(out: &Path, chunk: &Making<'_>) {
    let mut state = chunk.state();
    if state.left > 0 || state.failure.is_some() {
        return;
    }
    let lines = std::mem::take(&mut state.lines);
    let written = chunk::bytes(&chunk.head, &lines)
        .map_err(Failure::from)
        .and_then(|bytes| {
            let path = out.join(chunk::path(chunk.number));
            Ok(deliver::write_file(&path, &bytes, true)?)
        });
    if let Err(failure) = written {
        state.failure = Some(failure);
    }
}

fn ended(making: Vec<Making<'_>>, mut worked: Worked) -> Result<Worked, Failure> {
    let mut missing = 0;
    for chunk in making {
        let state = chunk
            .state
            .into_inner()
            .unwrap_or_else(PoisonError::into_inner);
        if let Some(failure) = state.failure {
            return Err(failure);
        }
        missing += state.left;
        worked.refused += state.refused;
        worked.failed += state.failed;
    }
    if missing == 0 {
        return Ok(worked);
    }
    Err(FarmError::Stopped {
        done: worked.fields - missing,
        fields: worked.fields,
    }
    .into())
}
