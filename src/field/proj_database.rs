//! Where PROJ's database of coordinate systems (`proj.db`) is found. It is embedded in the program, so that an
//! installed binary needs nothing beside it.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use thiserror::Error;

/// The database that the bundled PROJ was built with.
const EMBEDDED: &[u8] = include_bytes!(concat!(env!("OUT_DIR"), "/proj.db"));
/// Changes with the content, so that two versions never share a folder.
const FINGERPRINT: &str = env!("LOWSTAVE_PROJ_DB_FINGERPRINT");

/// The database is in none of the places.
#[derive(Debug, Error)]
#[error("proj.db was not found and could not be unpacked; looked at: {}", looked_at.join("; "))]
pub struct DatabaseError {
    looked_at: Vec<String>,
}

/// The folder with `proj.db`, in this order: the folder named by `LOWSTAVE_PROJ`; beside the program;
/// `../share/lowstave` from the program; else the embedded copy, unpacked once into the user's cache folder
/// (`XDG_CACHE_HOME`, else `HOME/.cache`) or, where that cannot be written, the temporary folder.
///
/// # Errors
/// Where none of them works; the error names each place tried.
pub(super) fn folder() -> Result<PathBuf, DatabaseError> {
    let mut looked_at = Vec::new();
    for folder in ready_made() {
        if folder.join("proj.db").is_file() {
            return Ok(folder);
        }
        looked_at.push(folder.display().to_string());
    }
    for base in caches() {
        let folder = base.join(format!("lowstave-proj-{FINGERPRINT}"));
        match unpack(&folder) {
            Ok(()) => return Ok(folder),
            Err(cause) => looked_at.push(format!("{} ({cause})", folder.display())),
        }
    }
    Err(DatabaseError { looked_at })
}

fn ready_made() -> Vec<PathBuf> {
    let mut folders: Vec<PathBuf> = std::env::var_os("LOWSTAVE_PROJ")
        .map(PathBuf::from)
        .into_iter()
        .collect();
    if let Some(beside) = std::env::current_exe()
        .ok()
        .as_deref()
        .and_then(Path::parent)
    {
        folders.push(beside.to_path_buf());
        folders.extend(beside.parent().map(|up| up.join("share/lowstave")));
    }
    folders
}

fn caches() -> Vec<PathBuf> {
    let cache = std::env::var_os("XDG_CACHE_HOME")
        .map(PathBuf::from)
        .filter(|path| path.is_absolute())
        .or_else(|| std::env::var_os("HOME").map(|home| Path::new(&home).join(".cache")));
    cache.into_iter().chain([std::env::temp_dir()]).collect()
}

/// Writes the database beside its place and renames it, so that two programs at once do no harm.
fn unpack(folder: &Path) -> std::io::Result<()> {
    let target = folder.join("proj.db");
    if fs::metadata(&target).is_ok_and(|found| found.len() == EMBEDDED.len() as u64) {
        return Ok(());
    }
    fs::create_dir_all(folder)?;
    let draft = folder.join(format!("proj.db.{}", std::process::id()));
    let written = fs::File::create(&draft)
        .and_then(|mut file| file.write_all(EMBEDDED))
        .and_then(|()| fs::rename(&draft, &target));
    if written.is_err() {
        // The draft may not exist; the first error is the one worth telling.
        let _ = fs::remove_file(&draft);
    }
    written
}
