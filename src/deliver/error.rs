use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

use crate::text::shorten;

/// Why a result cannot be delivered, or a delivered one cannot be read again.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum DeliverError {
    /// The stages' values contradict each other: a fault of the program.
    #[error(
        "the results do not fit together: {what}. Nothing was written. This is a fault of the program, not of your files; please report it"
    )]
    Inconsistent {
        /// What does not fit.
        what: String,
    },
    /// The record of the run cannot be put into JSON.
    #[error("run.json cannot be made ({cause}). Nothing was written")]
    Record {
        /// What the JSON writer said.
        cause: String,
    },
    /// A package cannot be made.
    #[error("\"{path}\" cannot be made ({cause}). Nothing was written")]
    Package {
        /// The file.
        path: &'static str,
        /// What went wrong.
        cause: String,
    },
    /// A folder that is not ours would be replaced.
    #[error("\"{}\" exists and is not a result of this program ({found}). Nothing was changed; choose another folder with --out, or move those files first", folder.display())]
    NotOurs {
        /// The folder.
        folder: PathBuf,
        /// What was found in it.
        found: String,
    },
    /// A result that somebody has edited would be replaced.
    #[error("\"{}\" holds a result of which \"{path}\" was changed or added since it was written. Nothing was changed; choose another folder with --out, or overwrite it with --force", folder.display())]
    Edited {
        /// The folder.
        folder: PathBuf,
        /// The first file that is not as it was written.
        path: String,
    },
    /// No folder or file can have that path.
    #[error(
        "\"{}\" cannot be written: {cause}. Nothing was written; choose another path",
        shortened(path)
    )]
    BadPath {
        /// The path.
        path: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
    /// The work was stopped while files were being written.
    #[error("stopped before the result was complete. Nothing was left half-written")]
    Stopped,
    /// A file would be overwritten.
    #[error("\"{}\" exists already. Nothing was changed; choose another name, or delete it first", path.display())]
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// Files of the season would lie among those of the plan.
    #[error("\"{}\" lies in the run's own \"{part}\": whoever loads that folder would load these files with the plan's. Nothing was written; choose another folder with --out", out.display())]
    InsideRun {
        /// The folder asked for.
        out: PathBuf,
        /// The run's folder that it lies in.
        part: String,
    },
    /// The disk refused.
    #[error("\"{}\" cannot be written: {cause}. Nothing was left half-written; check that the folder may be written and that the disk has room", path.display())]
    Write {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        #[source]
        cause: io::Error,
    },
    /// A finished run cannot be read.
    #[error("\"{}\" cannot be read: {cause}. Give the folder that \"lowstave plan\" wrote with --out", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What was wrong.
        cause: String,
    },
    /// A zone that the run does not have.
    #[error("there is no zone {zone} in \"{}\"; its zones are 1 to {last}", folder.display())]
    NoSuchZone {
        /// The number asked for.
        zone: u32,
        /// The folder.
        folder: PathBuf,
        /// The last zone's number.
        last: usize,
    },
}

/// A path, short enough for a message.
fn shortened(path: &Path) -> String {
    shorten(&path.display().to_string())
}

impl DeliverError {
    /// The disk refused a path: a path that cannot be is the user's to change, all else is the disk's.
    pub(super) fn refused(path: PathBuf, cause: io::Error) -> Self {
        use io::ErrorKind::{InvalidFilename, InvalidInput, IsADirectory, NotADirectory};
        match cause.kind() {
            InvalidFilename | InvalidInput | IsADirectory | NotADirectory => {
                Self::BadPath { path, cause }
            }
            _ => Self::Write { path, cause },
        }
    }

    /// Whether the user can mend it by asking for something else (exit code 2), rather than the program or the disk having failed (3).
    #[must_use]
    pub fn is_input_fault(&self) -> bool {
        matches!(
            self,
            Self::NotOurs { .. }
                | Self::Edited { .. }
                | Self::BadPath { .. }
                | Self::Exists { .. }
                | Self::InsideRun { .. }
                | Self::Read { .. }
                | Self::NoSuchZone { .. }
        )
    }
}
