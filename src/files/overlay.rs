use std::io::{self, Read};
use std::path::Path;

use super::memory::Memory;
use super::{FileSet, Files};

/// Files in memory laid over another set.
pub(super) struct Overlay {
    below: Files,
    over: Memory,
}

impl Overlay {
    pub(super) fn new(below: Files, over: impl IntoIterator<Item = (String, Vec<u8>)>) -> Self {
        Self {
            below,
            over: Memory::new(over),
        }
    }
}

impl FileSet for Overlay {
    fn size(&self, name: &Path) -> io::Result<u64> {
        self.over.size(name).or_else(|_| self.below.size(name))
    }

    fn open<'a>(&'a self, name: &Path) -> io::Result<Box<dyn Read + Send + 'a>> {
        self.over.open(name).or_else(|_| self.below.open(name))
    }

    fn stamp(&self, name: &Path) -> Option<String> {
        self.over.stamp(name).or_else(|| self.below.stamp(name))
    }

    fn folders_in(&self, folder: &Path) -> Vec<String> {
        let mut folders = self.below.folders_in(folder);
        folders.extend(self.over.folders_in(folder));
        folders.sort();
        folders.dedup();
        folders
    }

    fn names_in(&self, folder: &Path) -> Vec<String> {
        let mut names = self.below.names_beside(&folder.join("any"));
        names.extend(self.over.names_in(folder));
        names.sort();
        names.dedup();
        names
    }
}
