//! Whether a folder may be replaced: only an earlier result of ours, with nothing of the user's in it.

use std::fs;
use std::path::{Component, Path};

use serde::Deserialize;

use super::error::DeliverError;
use super::finished_run::FinishedRun;
use super::run_record::{PROGRAM, RUN_FILE, WrittenFile};
use crate::files::is_as_written;
use crate::files::sha256;

/// What GIS programs and desktops leave beside the files that they open; nobody misses it.
const SIDE_FILES: [&str; 13] = [
    ".aux.xml",
    ".qix",
    ".qmd",
    ".qpj",
    ".sbn",
    ".sbx",
    ".ovr",
    ".gpkg-wal",
    ".gpkg-shm",
    ".gpkg-journal",
    ".DS_Store",
    "Thumbs.db",
    "desktop.ini",
];

/// What `verdict` writes beside a run.
const VERDICT_FILES: [&str; 6] = [
    "pooled.json",
    "pooled.txt",
    "verdict.gpkg",
    "verdict.html",
    "verdict.json",
    "verdict.txt",
];

/// The record of what `follow` writes beside a run; it lists the others.
const FOLLOW_FILE: &str = "follow.json";

/// Deepest folder that is looked into; our own files lie two deep.
const DEEPEST: usize = 4;

/// Passes where the path is free, an empty folder, or ours and as it was written.
///
/// # Errors
/// Where something else lies there, or our files were edited and may not be overwritten.
pub fn require_ours(folder: &Path, overwrite_edited: bool) -> Result<(), DeliverError> {
    let refuse = |found: String| {
        Err(DeliverError::NotOurs {
            folder: folder.to_owned(),
            found,
        })
    };
    let Ok(kind) = fs::symlink_metadata(folder) else {
        return Ok(());
    };
    if !kind.is_dir() {
        return refuse("it is a file".to_owned());
    }
    let entries = fs::read_dir(folder).map_err(|cause| DeliverError::Write {
        path: folder.to_owned(),
        cause,
    })?;
    if entries.count() == 0 {
        return Ok(());
    }
    let Ok(run) = FinishedRun::open(folder) else {
        return refuse(format!("it holds no {RUN_FILE} of ours"));
    };
    let of_season = listed(folder, FOLLOW_FILE);
    let ours: Vec<&str> = run
        .paths()
        .chain(VERDICT_FILES)
        .chain([FOLLOW_FILE])
        .chain(of_season.iter().map(|file| file.path.as_str()))
        .collect();
    if let Some(found) = foreign(folder, folder, &ours, 0) {
        return refuse(format!("besides our files it holds \"{found}\""));
    }
    let mut later = VERDICT_FILES.iter().chain(&[FOLLOW_FILE]);
    let verdict = later.find(|name| folder.join(name).exists());
    if let (Some(name), false) = (verdict, overwrite_edited) {
        return Err(DeliverError::Edited {
            folder: folder.to_owned(),
            path: (*name).to_owned(),
        });
    }
    let edited = run.changes().into_iter().find(|change| !change.is_gone);
    match edited {
        Some(change) if !overwrite_edited => Err(DeliverError::Edited {
            folder: folder.to_owned(),
            path: change.path,
        }),
        _ => Ok(()),
    }
}

/// Whether a JSON file names this program as its writer.
pub(super) fn is_of_this_program(path: &Path) -> bool {
    #[derive(Deserialize)]
    struct Writer {
        program: String,
    }
    let bytes = fs::read(path).unwrap_or_default();
    let writer: Option<Writer> = serde_json::from_slice(&bytes).ok();
    writer.is_some_and(|writer| writer.program == PROGRAM)
}

/// The files that a marker lists; none where it is not there or is no marker of ours.
fn listed(folder: &Path, marker: &str) -> Vec<WrittenFile> {
    #[derive(Deserialize)]
    struct Listed {
        files: Vec<WrittenFile>,
    }
    let bytes = fs::read(folder.join(marker)).unwrap_or_default();
    let listed: Option<Listed> = serde_json::from_slice(&bytes).ok();
    listed.map(|listed| listed.files).unwrap_or_default()
}

/// The first file of a set that is not as it was written: the marker, which carries its own checksum, or one that it lists. A file that is
/// gone was not edited.
pub(super) fn edited_of_set(folder: &Path, marker: &str) -> Option<String> {
    let bytes = fs::read(folder.join(marker)).ok()?;
    if !is_as_written(&bytes) {
        return Some(marker.to_owned());
    }
    let is_edited = |file: &WrittenFile| {
        let there = fs::read(folder.join(&file.path));
        there.is_ok_and(|bytes| sha256(&bytes) != file.sha256)
    };
    listed(folder, marker)
        .into_iter()
        .find(is_edited)
        .map(|file| file.path)
}

/// Files that an earlier set listed and that are not `kept` by the new one: they would pass for results of today. Never a file of the run
/// itself, nor one outside the folder.
pub(super) fn stale_of_set(
    folder: &Path,
    marker: &str,
    kept: impl Fn(&str) -> bool,
) -> Vec<String> {
    let of_run = listed(folder, RUN_FILE);
    let is_of_run = |path: &str| path == RUN_FILE || of_run.iter().any(|own| own.path == path);
    let is_inside = |path: &str| {
        let mut parts = Path::new(path).components();
        parts.all(|part| matches!(part, Component::Normal(_)))
    };
    let is_there = |path: &str| {
        let kind = folder.join(path).symlink_metadata();
        kind.is_ok_and(|kind| kind.is_file())
    };
    let known = listed(folder, marker).into_iter().map(|file| file.path);
    known
        .filter(|path| path != marker && !kept(path))
        .filter(|path| is_inside(path) && !is_of_run(path) && is_there(path))
        .collect()
}

/// The first file below a folder that is neither in the list nor a side file.
fn foreign(root: &Path, folder: &Path, ours: &[&str], depth: usize) -> Option<String> {
    let mut paths: Vec<_> = fs::read_dir(folder)
        .ok()?
        .filter_map(Result::ok)
        .map(|entry| entry.path())
        .collect();
    paths.sort();
    paths.into_iter().find_map(|path| {
        let name = path
            .strip_prefix(root)
            .unwrap_or(&path)
            .to_string_lossy()
            .replace('\\', "/");
        if path.is_dir() && !path.is_symlink() {
            return if depth < DEEPEST {
                foreign(root, &path, ours, depth + 1)
            } else {
                Some(name)
            };
        }
        let is_known = name == RUN_FILE
            || ours.contains(&name.as_str())
            || SIDE_FILES.iter().any(|end| name.ends_with(end));
        (!is_known).then_some(name)
    })
}
