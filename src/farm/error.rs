use std::path::PathBuf;

use thiserror::Error;

use crate::provenance::Place;

/// Why a farm cannot be worked on at all. What is wrong with one field is a [`super::Problem`].
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum FarmError {
    /// Neither a farm file nor a folder with plans.
    #[error("\"{}\" holds no farm.toml and no plan.toml in any of its folders; name a farm file, or a folder with plans", folder.display())]
    NoFarm {
        /// The folder.
        folder: PathBuf,
    },
    /// No file has the name that is looked for.
    #[error(
        "{place}: no plan file has the name \"{pattern}\"; paths are relative to the farm file"
    )]
    NoField {
        /// Where it is said.
        place: Place,
        /// What was looked for.
        pattern: String,
    },
    /// A table of fields has no row.
    #[error("{place}: the table of fields has no row; write one row for each field")]
    NoRow {
        /// The table.
        place: Place,
    },
    /// Two fields of one name.
    #[error("{place}: there are two fields \"{id}\" (the other: {other}); name each field once")]
    Twice {
        /// The second.
        place: Place,
        /// The name.
        id: String,
        /// Where the first stands.
        other: String,
    },
    /// A name that no folder can have.
    #[error(
        "{place}: \"{id}\" cannot be the name of a field ({why}); use letters, digits, blanks, \"-\", \"_\" and \".\""
    )]
    Name {
        /// Where it stands.
        place: Place,
        /// The name.
        id: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// A table of fields without the columns that it needs.
    #[error("{place}: {what}; {help}")]
    Columns {
        /// The table.
        place: Place,
        /// What is missing or not known.
        what: String,
        /// What would do.
        help: String,
    },
    /// A row of a table of fields that says too little.
    #[error("{place}: {what}; {help}")]
    Row {
        /// The row.
        place: Place,
        /// What is wrong with it.
        what: String,
        /// What would do.
        help: String,
    },
    /// A share of the farm that cannot be.
    #[error("--part: {what}; {help}")]
    Part {
        /// What is not clear.
        what: String,
        /// What to do.
        help: String,
    },
    /// The folder holds another farm, or the same begun otherwise.
    #[error("\"{}\" {what}; {help}", folder.display())]
    OtherRun {
        /// The folder.
        folder: PathBuf,
        /// What it holds.
        what: String,
        /// What to do.
        help: &'static str,
    },
    /// Not all fields of a farm have been worked on.
    #[error("{missing} of {fields} fields have no result yet in \"{}\": {which}; run what is missing, then join again", folder.display())]
    Incomplete {
        /// The folder.
        folder: PathBuf,
        /// How many.
        missing: usize,
        /// Of how many.
        fields: usize,
        /// Which parts or fields.
        which: String,
    },
    /// The work was stopped.
    #[error(
        "stopped after {done} of {fields} fields; what is finished is kept: go on with --resume"
    )]
    Stopped {
        /// Fields that are done.
        done: usize,
        /// Of how many.
        fields: usize,
    },
    /// A file that this program writes for itself cannot be made or read again.
    #[error("\"{}\" cannot be used ({cause}); delete it and run again with --resume", path.display())]
    Chunk {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        cause: String,
    },
    /// The tables of the farm cannot be made.
    #[error("\"{file}\" cannot be made ({cause})")]
    Table {
        /// The file.
        file: &'static str,
        /// What went wrong.
        cause: String,
    },
}

impl FarmError {
    /// Whether the user can mend it (exit code 2), rather than the program or the machine having failed (3).
    #[must_use]
    pub fn is_input_fault(&self) -> bool {
        !matches!(
            self,
            Self::Stopped { .. } | Self::Chunk { .. } | Self::Table { .. }
        )
    }

    /// Where it stands, where that is known.
    #[must_use]
    pub fn place(&self) -> Option<&Place> {
        match self {
            Self::NoField { place, .. }
            | Self::NoRow { place }
            | Self::Twice { place, .. }
            | Self::Name { place, .. }
            | Self::Columns { place, .. }
            | Self::Row { place, .. } => Some(place),
            _ => None,
        }
    }
}
