//! The only file that writes. A result is complete or not there: it is made in a folder beside, flushed, and put in place in one step.
//!
//! A folder of an interrupted run is called `.NAME.lowstave-NUMBER`; its maker holds a lock on it while alive, so the next run knows
//! which of them are dead, takes back an old result that was set aside, and removes the rest.

use std::fs::{self, File};
use std::hash::{BuildHasher, RandomState};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use super::delivery::Delivery;
use super::error::DeliverError;
use super::output_file::OutputFile;
use super::ownership;
use super::recovery::{ASIDE, MARK, Target, recover};

/// Most files that are written at the same time.
const MOST_WRITERS: usize = 4;

/// How a delivery is written.
#[derive(Clone, Copy)]
pub struct WriteOptions<'a> {
    /// Whether an earlier result may be replaced although somebody has edited its files.
    pub overwrite_edited: bool,
    /// Asked now and then: whether to stop and tidy up.
    pub is_stopped: &'a (dyn Fn() -> bool + Sync),
}

/// Writes a delivery as the folder `out`: all of it, or nothing.
///
/// An existing folder is replaced where it is empty or an earlier result of this program, as it was written and with
/// nothing else in it.
///
/// # Errors
/// Where the folder is not ours, or the disk refuses; then nothing is left behind and the old folder is as it was.
pub fn write(delivery: &Delivery, out: &Path) -> Result<(), DeliverError> {
    let options = WriteOptions {
        overwrite_edited: false,
        is_stopped: &|| false,
    };
    write_with(delivery, out, options)
}

/// The same with options.
///
/// # Errors
/// As [`write()`], and [`DeliverError::Stopped`].
pub fn write_with(
    delivery: &Delivery,
    out: &Path,
    options: WriteOptions<'_>,
) -> Result<(), DeliverError> {
    let target = Target::new(out)?;
    recover(&target);
    ownership::require_ours(&target.folder, options.overwrite_edited)?;
    let made = make_parents(&target.parent)?;
    let staging = target.beside(&unique_mark());
    let result = stage(delivery, &staging, options.is_stopped)
        .and_then(|lock| put_in_place(&staging, &target).map(|()| drop(lock)));
    // After a swap the old result lies here; after a failure the half-made new one.
    let _ = fs::remove_dir_all(&staging);
    if result.is_err() {
        made.iter()
            .rev()
            .for_each(|folder| drop(fs::remove_dir(folder)));
    }
    result.map_err(|error| named_as_asked(error, &staging, &target.folder))
}

/// Puts a finished result that lies on the same disk in its place; whoever calls it has looked whether that is ours. Whenever it is killed,
/// the result is here or there, and an old one that was set aside is taken back or thrown away by the next run.
///
/// # Errors
/// Where the disk refuses.
pub(crate) fn move_result(from: &Path, out: &Path) -> Result<(), DeliverError> {
    let target = Target::new(out)?;
    recover(&target);
    make_parents(&target.parent)?;
    let moved = if target.folder.exists() {
        replace_in_two_steps(from, &target)
    } else {
        fs::rename(from, &target.folder)
    };
    moved.map_err(|cause| DeliverError::refused(target.folder.clone(), cause))?;
    flush_folder(&target.parent);
    Ok(())
}

/// Throws a file or folder away that this program made for itself; nothing where it is not there.
///
/// # Errors
/// Where the disk refuses.
pub(crate) fn throw_away(path: &Path) -> Result<(), DeliverError> {
    let gone = match path.symlink_metadata() {
        Err(_) => Ok(()),
        Ok(kind) if kind.is_dir() => fs::remove_dir_all(path),
        Ok(_) => fs::remove_file(path),
    };
    gone.map_err(|cause| DeliverError::refused(path.to_owned(), cause))
}

/// A mark that no other run has, on this machine or on another that shares the folder: process numbers repeat.
fn unique_mark() -> String {
    let number = RandomState::new().hash_one(std::process::id());
    format!("{MARK}{number}")
}

/// Says the path that the user asked for, not the one beside it.
fn named_as_asked(error: DeliverError, staging: &Path, folder: &Path) -> DeliverError {
    let asked = |path: PathBuf| {
        path.strip_prefix(staging)
            .map_or_else(|_| path.clone(), |rest| folder.join(rest))
    };
    match error {
        DeliverError::Write { path, cause } | DeliverError::BadPath { path, cause } => {
            DeliverError::refused(asked(path), cause)
        }
        other => other,
    }
}

/// Writes one file: all of it, or nothing.
///
/// # Errors
/// Where the file exists and may not be overwritten, or the disk refuses.
pub fn write_file(path: &Path, bytes: &[u8], overwrite: bool) -> Result<(), DeliverError> {
    let target = Target::new(path)?;
    if target.folder.is_dir() || (!overwrite && target.folder.symlink_metadata().is_ok()) {
        return Err(DeliverError::Exists {
            path: path.to_owned(),
        });
    }
    let made = make_parents(&target.parent)?;
    let staging = target.beside(&unique_mark());
    let result = write_flushed(&staging, bytes).and_then(|()| {
        let placed = if overwrite {
            fs::rename(&staging, &target.folder)
        } else {
            fs::hard_link(&staging, &target.folder)
        };
        placed.map_err(|cause| match cause.kind() {
            io::ErrorKind::AlreadyExists => DeliverError::Exists {
                path: path.to_owned(),
            },
            _ => DeliverError::refused(path.to_owned(), cause),
        })
    });
    let _ = fs::remove_file(&staging);
    if result.is_err() {
        made.iter()
            .rev()
            .for_each(|folder| drop(fs::remove_dir(folder)));
    }
    flush_folder(&target.parent);
    result
}

/// Takes away a file that this program wrote, and that its caller has read and found unchanged.
///
/// # Errors
/// Where the disk refuses.
pub fn remove_file(path: &Path) -> Result<(), DeliverError> {
    fs::remove_file(path).map_err(|cause| DeliverError::refused(path.to_owned(), cause))
}

/// Writes files that belong together into a folder that may hold others: all are made beside and then put in place, `marker` last. Files
/// of theirs that lie there are replaced only where `marker` shows that this program wrote them, and where nobody edited them since or
/// `overwrite_edited` is set; a link is not followed. What the earlier set held and the new one does not goes in the same move.
///
/// # Errors
/// Where a file of the user's has one of the names, was edited, or the disk refuses; then nothing was replaced.
pub fn write_set(
    folder: &Path,
    files: &[OutputFile],
    marker: &str,
    overwrite_edited: bool,
) -> Result<(), DeliverError> {
    let mut order: Vec<&OutputFile> = files.iter().filter(|file| file.path != marker).collect();
    order.extend(files.iter().find(|file| file.path == marker));
    let is_ours = ownership::is_of_this_program(&folder.join(marker));
    for file in &order {
        let path = folder.join(&file.path);
        let there = path.symlink_metadata();
        if there.is_ok_and(|kind| !kind.is_file() || !is_ours) {
            return Err(DeliverError::Exists { path });
        }
    }
    let edited = ownership::edited_of_set(folder, marker).filter(|_| is_ours && !overwrite_edited);
    if let Some(path) = edited {
        let folder = folder.to_owned();
        return Err(DeliverError::Edited { folder, path });
    }
    let mut stale = ownership::stale_of_set(folder, marker, |path| {
        files.iter().any(|file| file.path == path)
    });
    stale.retain(|_| is_ours);
    let mut staged: Vec<(PathBuf, PathBuf)> = Vec::new();
    let made = order
        .iter()
        .try_for_each(|file| stage_beside(folder, file, &mut staged));
    let placed = made.and_then(|()| place_set(folder, &staged, &stale));
    for (staging, _) in &staged {
        let _ = fs::remove_file(staging);
    }
    flush_folder(folder);
    placed
}

/// Writes a file of a set beside its place.
fn stage_beside(
    folder: &Path,
    file: &OutputFile,
    staged: &mut Vec<(PathBuf, PathBuf)>,
) -> Result<(), DeliverError> {
    let target = Target::new(&folder.join(&file.path))?;
    recover(&target);
    make_parents(&target.parent)?;
    let staging = target.beside(&unique_mark());
    write_flushed(&staging, &file.bytes)
        .map_err(|error| named_as_asked(error, &staging, &target.folder))?;
    staged.push((staging, target.folder));
    Ok(())
}

/// Sets aside what is stale, puts the new files in place, and then throws the stale ones away; where the disk refuses they come back.
fn place_set(
    folder: &Path,
    staged: &[(PathBuf, PathBuf)],
    stale: &[String],
) -> Result<(), DeliverError> {
    let mut aside: Vec<(PathBuf, PathBuf)> = Vec::new();
    let rename = |from: &Path, to: &Path| {
        fs::rename(from, to).map_err(|cause| DeliverError::refused(to.to_owned(), cause))
    };
    let cleared = stale.iter().try_for_each(|path| {
        let target = Target::new(&folder.join(path))?;
        let hidden = target.beside(&format!("{}{ASIDE}", unique_mark()));
        rename(&target.folder, &hidden)?;
        aside.push((hidden, target.folder));
        Ok(())
    });
    let placed = cleared.and_then(|()| staged.iter().try_for_each(|(from, to)| rename(from, to)));
    for (hidden, path) in &aside {
        let _ = match &placed {
            Ok(()) => fs::remove_file(hidden),
            Err(_) => fs::rename(hidden, path),
        };
    }
    for path in stale.iter().map(|path| folder.join(path)) {
        // A folder that still holds something stays.
        let above = path.ancestors().skip(1);
        above
            .take_while(|above| *above != folder)
            .for_each(|empty| drop(fs::remove_dir(empty)));
    }
    placed
}

/// Makes the folders above the target; gives those that were made, outermost first.
fn make_parents(parent: &Path) -> Result<Vec<PathBuf>, DeliverError> {
    let missing: Vec<PathBuf> = parent
        .ancestors()
        .take_while(|folder| !folder.exists())
        .map(Path::to_owned)
        .collect();
    let made: Vec<PathBuf> = missing.into_iter().rev().collect();
    for (at, folder) in made.iter().enumerate() {
        let made_here = fs::create_dir(folder);
        if made_here.as_ref().is_err_and(|_| folder.is_dir()) {
            // Another writer made it a moment ago.
            continue;
        }
        if let Err(cause) = made_here {
            made[..at]
                .iter()
                .rev()
                .for_each(|folder| drop(fs::remove_dir(folder)));
            return Err(DeliverError::refused(folder.clone(), cause));
        }
    }
    Ok(made)
}

/// Writes all files below the staging folder and flushes them; gives the lock that says the maker is alive.
fn stage(
    delivery: &Delivery,
    staging: &Path,
    is_stopped: &(dyn Fn() -> bool + Sync),
) -> Result<File, DeliverError> {
    let failed = |path: &Path| {
        let path = path.to_owned();
        move |cause| DeliverError::refused(path, cause)
    };
    fs::create_dir(staging).map_err(failed(staging))?;
    let lock = File::open(staging).map_err(failed(staging))?;
    // A file system without locks only loses the tidying up after a crash.
    let _ = lock.try_lock();
    let folders = folders_of(&delivery.files);
    for folder in &folders {
        let path = staging.join(folder);
        fs::create_dir_all(&path).map_err(failed(&path))?;
    }
    write_all(&delivery.files, staging, is_stopped)?;
    folders
        .iter()
        .rev()
        .for_each(|folder| flush_folder(&staging.join(folder)));
    flush_folder(staging);
    Ok(lock)
}

/// Writes the files from many threads. They wait for the disk and not for the processor: the more of them ask at once, the fewer times
/// the disk is made to settle (40 files: 16 threads 0.05 s, one thread 0.4 s).
fn write_all(
    files: &[OutputFile],
    staging: &Path,
    is_stopped: &(dyn Fn() -> bool + Sync),
) -> Result<(), DeliverError> {
    let next = AtomicUsize::new(0);
    let work = || -> Result<(), DeliverError> {
        while let Some(file) = files.get(next.fetch_add(1, Ordering::Relaxed)) {
            if is_stopped() {
                return Err(DeliverError::Stopped);
            }
            write_flushed(&staging.join(&file.path), &file.bytes)?;
        }
        Ok(())
    };
    std::thread::scope(|scope| {
        let writers: Vec<_> = (1..MOST_WRITERS.min(files.len()))
            // Where no further thread can be had, those that there are do the work.
            .map_while(|_| std::thread::Builder::new().spawn_scoped(scope, work).ok())
            .collect();
        let mine = work();
        writers.into_iter().fold(mine, |result, writer| {
            result.and(
                writer
                    .join()
                    .unwrap_or_else(|panic| std::panic::resume_unwind(panic)),
            )
        })
    })
}

fn folders_of(files: &[OutputFile]) -> Vec<PathBuf> {
    let mut folders: Vec<PathBuf> = files
        .iter()
        .filter_map(|file| Path::new(&file.path).parent())
        .map(Path::to_owned)
        .collect();
    folders.retain(|folder| !folder.as_os_str().is_empty());
    folders.sort();
    folders.dedup();
    folders
}

fn write_flushed(path: &Path, bytes: &[u8]) -> Result<(), DeliverError> {
    let write = || -> io::Result<()> {
        let mut file = File::create_new(path)?;
        file.write_all(bytes)?;
        file.sync_data()
    };
    write().map_err(|cause| {
        let _ = fs::remove_file(path);
        DeliverError::refused(path.to_owned(), cause)
    })
}

/// A folder that cannot be flushed (some network disks) costs durability over a power cut, not the result.
fn flush_folder(folder: &Path) {
    if let Ok(handle) = File::open(folder) {
        let _ = handle.sync_all();
    }
}

fn put_in_place(staging: &Path, target: &Target) -> Result<(), DeliverError> {
    let placed = if target.folder.exists() {
        replace(staging, target)
    } else {
        fs::rename(staging, &target.folder)
    };
    placed.map_err(|cause| DeliverError::Write {
        path: target.folder.clone(),
        cause,
    })?;
    flush_folder(&target.parent);
    Ok(())
}

/// Swaps old and new in one step where the system can; else sets the old aside first, from where [`recover`] takes it back.
fn replace(staging: &Path, target: &Target) -> io::Result<()> {
    if swap(staging, &target.folder).is_ok() {
        Ok(())
    } else {
        replace_in_two_steps(staging, target)
    }
}

fn replace_in_two_steps(staging: &Path, target: &Target) -> io::Result<()> {
    let aside = target.beside(&format!("{}{ASIDE}", unique_mark()));
    fs::rename(&target.folder, &aside)?;
    if let Err(cause) = fs::rename(staging, &target.folder) {
        fs::rename(&aside, &target.folder)?;
        return Err(cause);
    }
    let _ = fs::remove_dir_all(&aside);
    Ok(())
}

#[cfg(target_os = "linux")]
fn swap(one: &Path, other: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    Ok(renameat_with(CWD, one, CWD, other, RenameFlags::EXCHANGE)?)
}

#[cfg(not(target_os = "linux"))]
fn swap(_one: &Path, _other: &Path) -> io::Result<()> {
    Err(io::Error::from(io::ErrorKind::Unsupported))
}

#[cfg(test)]
#[path = "staging_tests.rs"]
mod tests;
