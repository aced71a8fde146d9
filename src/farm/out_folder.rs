//! The output folder of a farm: which farm it was begun for, and in how many chunks and parts.

use std::path::Path;

use serde::{Deserialize, Serialize};

use super::chunk::{PARTS, chunks_for};
use super::error::FarmError;
use super::part::Part;
use crate::deliver::{self, DeliverError};
use crate::error::Failure;
use crate::files::Files;

/// The record of how a farm was begun.
const MANIFEST: &str = "manifest.json";
/// Name of the program in it.
const PROGRAM: &str = env!("CARGO_PKG_NAME");
const LARGEST: u64 = 1 << 20;
/// The record of a farm's finished files.
pub(super) const FARM_RECORD: &str = "farm.json";

/// How a farm was begun.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    program: String,
    /// The farm file or folder, as the caller named it.
    pub farm: String,
    /// In how many chunks its fields are kept.
    pub chunks: u32,
    /// In how many parts it is worked on, where it is worked on in parts.
    pub parts: Option<u32>,
}

/// Reads how a folder was begun; `None` where it was not.
///
/// # Errors
/// Where the record is there and cannot be read.
pub fn begun(out: &Path) -> Result<Option<Manifest>, FarmError> {
    let files = Files::folder(out);
    let path = Path::new(PARTS).join(MANIFEST);
    if !files.is_file(&path) {
        return Ok(None);
    }
    let read = files
        .read(&path, LARGEST)
        .map_err(|cause| cause.to_string());
    let manifest: Result<Manifest, String> =
        read.and_then(|bytes| serde_json::from_slice(&bytes).map_err(|cause| cause.to_string()));
    match manifest {
        Ok(manifest) if manifest.program == PROGRAM => Ok(Some(manifest)),
        Ok(_) => Err(other_run(out, "holds parts of another program".to_owned())),
        Err(cause) => Err(FarmError::Chunk {
            path: out.join(path),
            cause,
        }),
    }
}

fn other_run(out: &Path, what: String) -> FarmError {
    FarmError::OtherRun {
        folder: out.to_owned(),
        what,
        help: "choose another folder with --out",
    }
}

/// How the work is begun.
#[derive(Debug, Clone, Copy)]
pub(super) struct Beginning<'a> {
    pub farm: &'a str,
    pub fields: usize,
    pub resume: bool,
    pub part: Option<Part>,
}

/// Begins in a folder, or goes on in it.
///
/// # Errors
/// Where it holds something else, another farm, or the same farm begun in another count of parts; where the disk refuses.
pub(super) fn begin(out: &Path, how: Beginning<'_>) -> Result<Manifest, Failure> {
    let fresh = Manifest {
        program: PROGRAM.to_owned(),
        farm: how.farm.to_owned(),
        chunks: chunks_for(how.fields),
        parts: how.part.map(|part| part.of),
    };
    if let Some(found) = begun(out)? {
        require_same_farm(out, &found, how)?;
        return if how.resume || how.part.is_some() {
            Ok(go_on(out, found, how)?)
        } else {
            write(out, &fresh, true)?;
            Ok(fresh)
        };
    }
    if let Err(error) = require_free(out) {
        // Another part began between the two looks.
        let found = begun(out)?.ok_or(error)?;
        return Ok(go_on(out, found, how)?);
    }
    match write(out, &fresh, false) {
        // Another part began at the same moment.
        Err(DeliverError::Exists { .. }) => match begun(out)? {
            Some(found) => Ok(go_on(out, found, how)?),
            None => Ok(fresh),
        },
        Err(error) => Err(error.into()),
        Ok(()) => Ok(fresh),
    }
}

fn require_same_farm(out: &Path, found: &Manifest, how: Beginning<'_>) -> Result<(), FarmError> {
    if found.farm == how.farm {
        return Ok(());
    }
    Err(other_run(out, format!("was begun for \"{}\"", found.farm)))
}

fn go_on(out: &Path, found: Manifest, how: Beginning<'_>) -> Result<Manifest, FarmError> {
    require_same_farm(out, &found, how)?;
    match (how.part, found.parts) {
        (Some(part), Some(of)) if part.of != of => Err(FarmError::OtherRun {
            folder: out.to_owned(),
            what: format!(
                "was begun in {of} parts, and this is part {} of {}",
                part.number, part.of
            ),
            help: "keep to the count of parts that it was begun with, or choose another folder with --out",
        }),
        _ => Ok(found),
    }
}

/// A folder that is not there, is empty, holds a farm's files only, or what another part has made a moment ago.
fn require_free(out: &Path) -> Result<(), FarmError> {
    let files = Files::folder(out);
    let parts = Path::new(PARTS);
    let is_hidden = |name: &String| name.starts_with('.');
    let folders = files.folders_in(Path::new(""));
    let is_empty = files.names_in(Path::new("")).is_empty()
        && folders.iter().all(|folder| folder == PARTS)
        && files.names_in(parts).iter().all(is_hidden)
        && files.folders_in(parts).is_empty();
    if is_empty || files.is_file(Path::new(FARM_RECORD)) {
        return Ok(());
    }
    Err(other_run(
        out,
        "exists and is not a result of this command".to_owned(),
    ))
}

fn write(out: &Path, manifest: &Manifest, overwrite: bool) -> Result<(), DeliverError> {
    let text = serde_json::to_string_pretty(manifest).unwrap_or_default() + "\n";
    deliver::write_file(&out.join(PARTS).join(MANIFEST), text.as_bytes(), overwrite)
}
