//! The fields' own files. They are made in a folder that nobody loads from, and put in place together with the farm's own files when the
//! money and the stock have been shared out: before, their rates are not yet what the farm pays for.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use super::chunk::PARTS;
use super::fields::{Farm, FarmField};
use super::pool::side_by_side;
use crate::deliver;
use crate::error::{Error, Failure, Outcome};
use crate::files::Files;

/// Folder of the fields' own files in the output folder.
pub(super) const FIELDS: &str = "fields";
/// Lies among them while they are put in place; a run that is killed there leaves it.
const MARK: &str = "NOT-FINISHED.txt";
const MARK_SAYS: &str = "\
The work was stopped while the files of this farm were being replaced.
Some folders here, or the farm's own files, may be those of an earlier run.
Load nothing from here: run \"lowstave farm\" again with --resume (or \"lowstave farm join\"), which takes this file away.
";

/// Where the files of a field wait until they are put in place.
pub(super) fn waiting(out: &Path, id: &str) -> PathBuf {
    out.join(PARTS).join(FIELDS).join(id)
}

/// Where the files of a field lie when the farm is done.
pub(super) fn placed(out: &Path, id: &str) -> PathBuf {
    out.join(FIELDS).join(id)
}

/// Refuses to begin where the folder of a field could not be replaced: it holds something of the user's, or was edited. A field that was left
/// out for that at the end would have moved the money of the others.
pub(super) fn require_replaceable(
    out: &Path,
    fields: &[&FarmField],
    overwrite_edited: bool,
    threads: usize,
) -> Result<(), Failure> {
    let refused: Mutex<Vec<(usize, Error)>> = Mutex::default();
    side_by_side(threads, fields.len(), |at| {
        let Some(field) = fields.get(at) else {
            return;
        };
        let looked = deliver::require_ours(&placed(out, &field.id), overwrite_edited);
        if let Err(error) = looked {
            let mut refused = refused.lock().unwrap_or_else(PoisonError::into_inner);
            refused.push((at, error.into()));
        }
    })?;
    let mut refused = refused.into_inner().unwrap_or_else(PoisonError::into_inner);
    refused.sort_by_key(|(at, _)| *at);
    if refused.is_empty() {
        return Ok(());
    }
    let errors: Vec<Error> = refused.into_iter().map(|(_, error)| error).collect();
    Err(errors.into())
}

/// Puts the fields' files that wait in place, around `write`, which writes the farm's own files.
pub(super) fn publish(
    farm: &Farm,
    out: &Path,
    (overwrite_edited, threads): (bool, usize),
    has_result: impl Fn(&str) -> bool,
    write: impl FnOnce() -> Result<(), Failure>,
) -> Result<(), Failure> {
    let files = Files::folder(out);
    let here = files.folders_in(&Path::new(PARTS).join(FIELDS));
    let here: BTreeSet<String> = here.into_iter().collect();
    let is_here = |field: &&FarmField| here.contains(&field.id) && has_result(&field.id);
    let fields: Vec<&FarmField> = farm.fields.iter().filter(is_here).collect();
    require_replaceable(out, &fields, overwrite_edited, threads)?;
    let mark = out.join(FIELDS).join(MARK);
    let was_marked = files.is_file(&Path::new(FIELDS).join(MARK));
    if !fields.is_empty() {
        deliver::write_file(&mark, MARK_SAYS.as_bytes(), true)?;
    }
    if let Err(failure) = write() {
        // Where the user can mend it nothing was replaced.
        if failure.outcome() == Outcome::Refused && !was_marked {
            deliver::throw_away(&mark)?;
        }
        return Err(failure);
    }
    for field in fields {
        deliver::move_result(&waiting(out, &field.id), &placed(out, &field.id))?;
    }
    deliver::throw_away(&out.join(PARTS).join(FIELDS))?;
    Ok(deliver::throw_away(&mark)?)
}
