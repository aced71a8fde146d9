use std::collections::BTreeMap;
use std::io::{self, Read};
use std::path::{Component, Path};

use super::FileSet;
use super::checksum::sha256;

/// Files in memory, by name.
pub(super) struct Memory {
    files: BTreeMap<String, Vec<u8>>,
}

impl Memory {
    pub(super) fn new(files: impl IntoIterator<Item = (String, Vec<u8>)>) -> Self {
        let named = |(name, bytes): (String, Vec<u8>)| Some((tidy(Path::new(&name))?, bytes));
        Self {
            files: files.into_iter().filter_map(named).collect(),
        }
    }

    pub(super) fn get(&self, name: &Path) -> io::Result<&[u8]> {
        let found = tidy(name).and_then(|name| self.files.get(&name));
        found
            .map(Vec::as_slice)
            .ok_or_else(|| io::Error::new(io::ErrorKind::NotFound, "there is no file of that name"))
    }
}

impl FileSet for Memory {
    fn size(&self, name: &Path) -> io::Result<u64> {
        Ok(self.get(name)?.len() as u64)
    }

    fn open<'a>(&'a self, name: &Path) -> io::Result<Box<dyn Read + Send + 'a>> {
        Ok(Box::new(self.get(name)?))
    }

    fn stamp(&self, name: &Path) -> Option<String> {
        self.get(name).ok().map(sha256)
    }

    fn names_in(&self, folder: &Path) -> Vec<String> {
        let Some(folder) = tidy(folder) else {
            return Vec::new();
        };
        let below = |name: &String| {
            let (own, file) = name.rsplit_once('/').unwrap_or(("", name));
            (own == folder).then(|| file.to_owned())
        };
        self.files.keys().filter_map(below).collect()
    }

    fn folders_in(&self, folder: &Path) -> Vec<String> {
        let Some(folder) = tidy(folder) else {
            return Vec::new();
        };
        let below = |name: &String| {
            let rest = match folder.as_str() {
                "" => name.as_str(),
                folder => name.strip_prefix(folder)?.strip_prefix('/')?,
            };
            rest.split_once('/').map(|(first, _)| first.to_owned())
        };
        let mut names: Vec<String> = self.files.keys().filter_map(below).collect();
        names.sort();
        names.dedup();
        names
    }
}

/// A name without `.` and `..`; `None` where it leads out of the set.
fn tidy(name: &Path) -> Option<String> {
    let mut parts: Vec<&str> = Vec::new();
    for part in name.components() {
        match part {
            Component::Normal(part) => parts.push(part.to_str()?),
            Component::CurDir => {}
            Component::ParentDir => drop(parts.pop()?),
            Component::RootDir | Component::Prefix(_) => return None,
        }
    }
    Some(parts.join("/"))
}
