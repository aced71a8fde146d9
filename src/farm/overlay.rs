//! The files of a field whose plan stands in a row of a table: those of the row, and below them those beside the farm file.

use std::io::{self, Read};
use std::path::Path;

use crate::files::{FileSet, Files};

/// Two sets of files, the first over the second.
pub(super) struct Overlay {
    over: Files,
    under: Files,
}

impl Overlay {
    pub(super) fn new(over: Files, under: Files) -> Self {
        Self { over, under }
    }

    fn set_of(&self, name: &Path) -> &Files {
        if self.over.is_file(name) {
            &self.over
        } else {
            &self.under
        }
    }
}

impl FileSet for Overlay {
    fn size(&self, name: &Path) -> io::Result<u64> {
        self.set_of(name).size(name)
    }

    fn open<'a>(&'a self, name: &Path) -> io::Result<Box<dyn Read + Send + 'a>> {
        self.set_of(name).open(name)
    }

    fn names_in(&self, folder: &Path) -> Vec<String> {
        let mut names = self.over.names_in(folder);
        names.extend(self.under.names_in(folder));
        names.sort();
        names.dedup();
        names
    }

    fn folders_in(&self, folder: &Path) -> Vec<String> {
        self.under.folders_in(folder)
    }
}
