use std::fs::{self, File, Metadata};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

use super::{FileSet, MOST_NAMES};

/// The files below a folder of the disk. The only place of the engine that reads the disk.
pub(super) struct Folder {
    root: PathBuf,
}

impl Folder {
    pub(super) fn new(root: PathBuf) -> Self {
        Self { root }
    }
}

/// Most folders of one folder that are looked at: a field each.
const MOST_FOLDERS: usize = 2_000_000;

impl Folder {
    /// The names in a folder, of one kind.
    fn entries(&self, folder: &Path, most: usize, is_wanted: fn(&Metadata) -> bool) -> Vec<String> {
        let folder = self.root.join(folder);
        let folder = if folder.as_os_str().is_empty() {
            Path::new(".")
        } else {
            &folder
        };
        fs::read_dir(folder)
            .into_iter()
            .flatten()
            .take(most)
            .filter_map(Result::ok)
            .filter(|entry| fs::metadata(entry.path()).is_ok_and(|found| is_wanted(&found)))
            .map(|entry| entry.file_name().to_string_lossy().into_owned())
            .collect()
    }
}

impl FileSet for Folder {
    fn size(&self, name: &Path) -> io::Result<u64> {
        plain_size(&fs::metadata(self.root.join(name))?)
    }

    fn open<'a>(&'a self, name: &Path) -> io::Result<Box<dyn Read + Send + 'a>> {
        let path = self.root.join(name);
        // Before it is opened: opening a pipe waits for a writer, for ever.
        plain_size(&fs::metadata(&path)?)?;
        let file = File::open(&path)?;
        let size = plain_size(&file.metadata()?)?;
        Ok(Box::new(NoMoreThan { file, left: size }))
    }

    fn stamp(&self, name: &Path) -> Option<String> {
        let found = fs::metadata(self.root.join(name)).ok()?;
        let since = found.modified().ok()?.duration_since(UNIX_EPOCH).ok()?;
        Some(format!("{} bytes, {} ns", found.len(), since.as_nanos()))
    }

    fn names_in(&self, folder: &Path) -> Vec<String> {
        self.entries(folder, MOST_NAMES, Metadata::is_file)
    }

    fn folders_in(&self, folder: &Path) -> Vec<String> {
        self.entries(folder, MOST_FOLDERS, Metadata::is_dir)
    }
}

/// The size of a plain file; what else can stand at a path has no end, or blocks.
fn plain_size(found: &Metadata) -> io::Result<u64> {
    if found.is_dir() {
        let kind = io::ErrorKind::IsADirectory;
        return Err(io::Error::new(kind, "it is a folder"));
    }
    if !found.is_file() {
        let kind = io::ErrorKind::InvalidInput;
        return Err(io::Error::new(kind, "it is a device or a pipe, not a file"));
    }
    Ok(found.len())
}

/// Reads what the file held when it was opened. Some files of the system say that they are empty and never end.
struct NoMoreThan {
    file: File,
    left: u64,
}

impl Read for NoMoreThan {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = self.file.read(buffer)? as u64;
        if count > self.left {
            return Err(io::Error::new(
                io::ErrorKind::FileTooLarge,
                "it has more bytes than its size says; it grows while it is read, or it is no plain file",
            ));
        }
        self.left -= count;
        Ok(count as usize)
    }
}
