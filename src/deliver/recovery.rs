//! Where a result goes, and what killed runs left beside it.

use std::ffi::OsString;
use std::fs::{self, File, TryLockError};
use std::io;
use std::path::{Path, PathBuf};

use super::error::DeliverError;

/// Between the result's name and a number in the name of a folder in the making.
pub(super) const MARK: &str = ".lowstave-";
/// At the end of the name of an old result that is set aside.
pub(super) const ASIDE: &str = "-old";

/// Where a result goes: the folder, the folder that holds it, and its name.
pub(super) struct Target {
    pub folder: PathBuf,
    pub parent: PathBuf,
    name: OsString,
}

impl Target {
    /// The target of an output folder, links followed.
    ///
    /// # Errors
    /// Where the folder cannot be looked at, or has no name of its own.
    pub fn new(out: &Path) -> Result<Self, DeliverError> {
        let failed = |cause| DeliverError::refused(out.to_owned(), cause);
        // A link is followed, so that the folder it points to is replaced and not the link.
        let folder = if out.exists() {
            out.canonicalize()
        } else {
            std::path::absolute(out)
        }
        .map_err(failed)?;
        let (Some(parent), Some(name)) = (folder.parent(), folder.file_name()) else {
            return Err(failed(io::Error::new(
                io::ErrorKind::InvalidInput,
                "it has no name of its own",
            )));
        };
        Ok(Self {
            parent: parent.to_owned(),
            name: name.to_owned(),
            folder: folder.clone(),
        })
    }

    /// A hidden name beside the folder, for what is being written.
    pub fn beside(&self, suffix: &str) -> PathBuf {
        let mut name = OsString::from(".");
        name.push(&self.name);
        name.push(suffix);
        self.parent.join(name)
    }
}

/// Tidies up after runs that were killed: an old result that was set aside comes back where nothing took its place, the rest goes.
pub(super) fn recover(target: &Target) {
    let mut prefix = OsString::from(".");
    prefix.push(&target.name);
    prefix.push(MARK);
    let prefix = prefix.to_string_lossy().into_owned();
    let Ok(entries) = fs::read_dir(&target.parent) else {
        return;
    };
    let mut left: Vec<PathBuf> = entries
        .filter_map(Result::ok)
        .filter(|entry| {
            entry
                .file_name()
                .to_string_lossy()
                .strip_prefix(&prefix)
                .is_some_and(is_mark)
        })
        .map(|entry| entry.path())
        .filter(|path| is_dead(path))
        .collect();
    left.sort();
    for path in left {
        let is_aside = path.to_string_lossy().ends_with(ASIDE);
        if is_aside && !target.folder.exists() && fs::rename(&path, &target.folder).is_ok() {
            continue;
        }
        let _ = if path.is_dir() {
            fs::remove_dir_all(&path)
        } else {
            fs::remove_file(&path)
        };
    }
}

/// A number, with or without the mark of an old result.
fn is_mark(rest: &str) -> bool {
    let number = rest.strip_suffix(ASIDE).unwrap_or(rest);
    !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit())
}

/// Whether nobody holds the lock of a staging folder any more.
fn is_dead(path: &Path) -> bool {
    let Ok(handle) = File::open(path) else {
        return false;
    };
    !matches!(handle.try_lock(), Err(TryLockError::WouldBlock))
}

/// Brings an old result back whose run was killed between setting it aside and putting the new one in place.
pub(super) fn restore(out: &Path) {
    if !out.exists()
        && let Ok(target) = Target::new(out)
    {
        recover(&target);
    }
}

/// A path with its links followed, as far as it is there.
pub(super) fn real_path(path: &Path) -> Option<PathBuf> {
    let whole = std::path::absolute(path).ok()?;
    let there = whole.ancestors().find_map(|above| {
        let real = above.canonicalize().ok()?;
        Some((above, real))
    });
    let (above, real) = there?;
    Some(real.join(whole.strip_prefix(above).ok()?))
}
