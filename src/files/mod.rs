//! A set of named bytes: all that the engine reads comes from here, be it a folder, memory, an archive or anything
//! else that implements [`FileSet`]. Names are relative to the plan, so that what is made from them does not depend
//! on where the set lies.
//!
//! ```
//! use std::path::Path;
//! use lowstave::Files;
//!
//! let files = Files::memory([("field/plan.toml", "season = 2027"), ("field/cores.csv", "id,ph")]);
//! assert!(files.is_file(Path::new("field/cores.csv")));
//! let beside = files.beside(Path::new("field/plan.toml"));
//! assert_eq!(beside.read(Path::new("cores.csv"), 100)?, b"id,ph");
//! # Ok::<(), std::io::Error>(())
//! ```

mod archive;
mod checksum;
mod folder;
mod memory;
mod overlay;
mod sealed;

use std::fmt;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

pub use checksum::{hex, sha256};
pub use sealed::{is_as_written, with_checksum};

use folder::Folder;
use memory::Memory;
use overlay::Overlay;

/// Most names of one folder that are looked at.
const MOST_NAMES: usize = 10_000;

/// Where named bytes lie. Implement it for a row of a table or a store; [`Files::folder`], [`Files::memory`] and
/// [`Files::archive`] are made already.
///
/// Names are paths with `/`; they may hold `..`, which a set resolves or refuses. No call may block for ever: what is
/// no plain file is refused.
pub trait FileSet: Send + Sync {
    /// Number of bytes of a file.
    ///
    /// # Errors
    /// Where there is no such file, or it is not a plain file.
    fn size(&self, name: &Path) -> io::Result<u64>;

    /// A reader from the file's start; it gives [`FileSet::size`] bytes, not more.
    ///
    /// # Errors
    /// As [`FileSet::size`], and where the file may not be read.
    fn open<'a>(&'a self, name: &Path) -> io::Result<Box<dyn Read + Send + 'a>>;

    /// What tells one state of a file from another without reading it; `None` where the set cannot tell.
    fn stamp(&self, _name: &Path) -> Option<String> {
        None
    }

    /// The names of the files in a folder of the set (`""` is its top), without the folder, in any order.
    fn names_in(&self, folder: &Path) -> Vec<String>;

    /// The names of the folders in a folder of the set, in any order; none where the set does not know its folders.
    fn folders_in(&self, _folder: &Path) -> Vec<String> {
        Vec::new()
    }
}

/// A set of named bytes, as seen from one of its folders. Cloning is cheap.
#[derive(Clone)]
pub struct Files {
    set: Arc<dyn FileSet>,
    base: PathBuf,
}

impl fmt::Debug for Files {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Files")
            .field("base", &self.base)
            .finish_non_exhaustive()
    }
}

impl Files {
    /// The files below a folder of the disk; `""` is the working folder. A name with `..` or from the disk's root
    /// leads out of the folder, as in any path.
    #[must_use]
    pub fn folder(root: impl Into<PathBuf>) -> Self {
        Self::of(Folder::new(root.into()))
    }

    /// Files in memory: names with `/`, and bytes.
    #[must_use]
    pub fn memory<N: AsRef<str>, B: Into<Vec<u8>>>(
        files: impl IntoIterator<Item = (N, B)>,
    ) -> Self {
        Self::of(Memory::new(
            files
                .into_iter()
                .map(|(name, bytes)| (name.as_ref().to_owned(), bytes.into())),
        ))
    }

    /// The files in the bytes of a zip archive.
    ///
    /// # Errors
    /// Where the bytes are no zip archive, or unpack to more than a gigabyte or ten thousand files.
    pub fn archive(bytes: &[u8]) -> io::Result<Self> {
        archive::unpack(bytes).map(|files| Self::of(Memory::new(files)))
    }

    /// Files of a set of the caller's.
    #[must_use]
    pub fn of(set: impl FileSet + 'static) -> Self {
        Self {
            set: Arc::new(set),
            base: PathBuf::new(),
        }
    }

    /// The same set, as seen from the folder of one of its files.
    #[must_use]
    pub fn beside(&self, file: &Path) -> Self {
        let folder = file.parent().unwrap_or(Path::new(""));
        Self {
            set: Arc::clone(&self.set),
            base: self.base.join(folder),
        }
    }

    /// Number of bytes of a file.
    ///
    /// # Errors
    /// Where there is no such file, or it is a folder, a device or a pipe.
    pub fn size(&self, name: &Path) -> io::Result<u64> {
        self.set.size(&self.base.join(name))
    }

    /// What changes when a file changes: its size and time on a disk, its checksum in memory. `None` where there is no such file or
    /// the set cannot tell; then the file has to be read to know.
    #[must_use]
    pub fn stamp(&self, name: &Path) -> Option<String> {
        self.set.stamp(&self.base.join(name))
    }

    /// The same set with some files laid over it: a name stands for the bytes given here, and for the set's own where it is not among
    /// them.
    ///
    /// # Example
    /// ```
    /// use std::path::Path;
    /// use lowstave::Files;
    ///
    /// let files = Files::memory([("plan.toml", "season = 2027"), ("cores.csv", "id,ph")]);
    /// let tried = files.with([("plan.toml", "season = 2028")]);
    /// assert_eq!(tried.read(Path::new("plan.toml"), 100)?, b"season = 2028");
    /// assert_eq!(tried.read(Path::new("cores.csv"), 100)?, b"id,ph");
    /// # Ok::<(), std::io::Error>(())
    /// ```
    #[must_use]
    pub fn with<N: AsRef<str>, B: Into<Vec<u8>>>(
        &self,
        files: impl IntoIterator<Item = (N, B)>,
    ) -> Self {
        let over = files
            .into_iter()
            .map(|(name, bytes)| (name.as_ref().to_owned(), bytes.into()));
        Self::of(Overlay::new(self.clone(), over))
    }

    /// Whether there is a plain file of that name.
    #[must_use]
    pub fn is_file(&self, name: &Path) -> bool {
        self.size(name).is_ok()
    }

    /// A reader from the file's start.
    ///
    /// # Errors
    /// Where there is no such file, it is not a plain file, or it may not be read.
    pub fn open(&self, name: &Path) -> io::Result<Box<dyn Read + Send + '_>> {
        self.set.open(&self.base.join(name))
    }

    /// All bytes of a file, at most `limit` of them.
    ///
    /// # Errors
    /// As [`Files::open`], and [`io::ErrorKind::FileTooLarge`] where it has more bytes; then nothing was read.
    pub fn read(&self, name: &Path, limit: u64) -> io::Result<Vec<u8>> {
        let size = self.size(name)?;
        if size > limit {
            return Err(io::Error::new(
                io::ErrorKind::FileTooLarge,
                format!("it has {size} bytes, more than {limit}"),
            ));
        }
        let mut bytes = Vec::with_capacity(size as usize);
        self.open(name)?.read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    /// The names of the files in a folder, sorted.
    #[must_use]
    pub fn names_in(&self, folder: &Path) -> Vec<String> {
        let mut names = self.set.names_in(&self.base.join(folder));
        names.sort();
        names
    }

    /// The names of the folders in a folder, sorted.
    #[must_use]
    pub fn folders_in(&self, folder: &Path) -> Vec<String> {
        let mut names = self.set.folders_in(&self.base.join(folder));
        names.sort();
        names
    }

    /// The names of the files that lie in the same folder as a file, sorted.
    #[must_use]
    pub fn names_beside(&self, file: &Path) -> Vec<String> {
        let path = self.base.join(file);
        let mut names = self.set.names_in(path.parent().unwrap_or(Path::new("")));
        names.sort();
        names.truncate(MOST_NAMES);
        names
    }
}
