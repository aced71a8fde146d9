//! Which files a field was made of: what was read, what was looked for and is not there, and what lay beside.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Read};
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::files::{FileSet, Files, sha256};

/// What a field was made of: name, and what was found there.
pub(super) type Seen = BTreeMap<String, String>;

/// There is no such file.
const MISSING: &str = "missing";
/// Before a name: the files of a folder, not a file.
const FOLDER: &str = "folder:";
/// Largest file that is looked at again, as the largest that is read.
const LARGEST: u64 = 8 << 30;

/// A set of files that notes what is asked of it.
#[derive(Clone)]
pub(super) struct Recorded {
    files: Files,
    asked: Arc<Mutex<BTreeSet<String>>>,
}

impl Recorded {
    pub(super) fn new(files: Files) -> Self {
        Self {
            files,
            asked: Arc::default(),
        }
    }

    /// The set, for whoever reads.
    pub(super) fn files(&self) -> Files {
        Files::of(self.clone())
    }

    /// What was asked for, and what is there.
    pub(super) fn seen(&self) -> Seen {
        let asked = self.asked().clone();
        let found = asked.into_iter().map(|name| {
            let found = found_at(&self.files, &name);
            (name, found)
        });
        found.collect()
    }

    fn asked(&self) -> MutexGuard<'_, BTreeSet<String>> {
        self.asked.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn note(&self, name: &Path) {
        self.asked().insert(name.to_string_lossy().into_owned());
    }
}

/// Whether all is as it was seen.
pub(super) fn is_unchanged(files: &Files, seen: &Seen) -> bool {
    let mut seen = seen.iter();
    seen.all(|(name, found)| found_at(files, name) == *found)
}

fn found_at(files: &Files, name: &str) -> String {
    if let Some(folder) = name.strip_prefix(FOLDER) {
        return sha256(files.names_in(Path::new(folder)).join("\n").as_bytes());
    }
    match files.read(Path::new(name), LARGEST) {
        Ok(bytes) => sha256(&bytes),
        Err(_) => MISSING.to_owned(),
    }
}

impl FileSet for Recorded {
    fn size(&self, name: &Path) -> io::Result<u64> {
        self.note(name);
        self.files.size(name)
    }

    fn open<'a>(&'a self, name: &Path) -> io::Result<Box<dyn Read + Send + 'a>> {
        self.note(name);
        self.files.open(name)
    }

    fn names_in(&self, folder: &Path) -> Vec<String> {
        let name = format!("{FOLDER}{}", folder.to_string_lossy());
        self.asked().insert(name);
        self.files.names_in(folder)
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::{Recorded, is_unchanged};
    use crate::files::Files;

    #[test]
    fn a_change_of_what_was_read_shows_and_another_does_not() {
        let files = |cores: &str, more: Option<&str>| {
            let more = more.map(|name| (name, "x"));
            Files::memory(
                [("a/cores.csv", cores), ("b/other.csv", "1")]
                    .into_iter()
                    .chain(more),
            )
        };
        let recorded = Recorded::new(files("1", None));
        let read = recorded.files();
        read.read(Path::new("a/cores.csv"), 10).unwrap();
        assert!(!read.is_file(Path::new("a/cores.prj")));
        let seen = recorded.seen();
        assert!(is_unchanged(&files("1", None), &seen));
        assert!(is_unchanged(&files("1", Some("b/new.csv")), &seen));
        assert!(!is_unchanged(&files("2", None), &seen));
        assert!(!is_unchanged(&files("1", Some("a/cores.prj")), &seen));
    }
}
