use std::fmt;
use std::io;

use thiserror::Error;

use crate::analyte::DepthError;
use crate::provenance::Place;
use crate::units::UnitError;

/// What keeps a plan file from being used. Each says where, what was found, what is allowed and the way out.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PlanError {
    /// The file is not there or may not be read.
    #[error(
        "{place}: the plan file cannot be read ({}); check the path, or write a first plan with \"lowstave start\"",
        in_words(cause)
    )]
    Unreadable {
        /// The plan file.
        place: Place,
        /// What the system said.
        #[source]
        cause: io::Error,
    },
    /// The name is not that of a file.
    #[error("{place}: this is not a file; give the path of a plan file, such as \"plan.toml\"")]
    NotAFile {
        /// The plan file.
        place: Place,
    },
    /// The file is larger than any plan.
    #[error(
        "{place}: the file is larger than {limit_bytes} bytes; a plan file is a short text, is this a data file?"
    )]
    TooLarge {
        /// The plan file.
        place: Place,
        /// Most that is read.
        limit_bytes: u64,
    },
    /// The bytes are not UTF-8.
    #[error("{place}: this is not UTF-8 text; save the plan file as UTF-8")]
    NotText {
        /// The first bad row.
        place: Place,
    },
    /// The text is not TOML.
    #[error("{place}: this is not valid TOML: {cause}")]
    Syntax {
        /// Where the parser stumbled.
        place: Place,
        /// What the parser said.
        cause: String,
    },
    /// A key that the plan file does not have.
    #[error("{place}: \"{key}\" is not a key of {table}{hint}; allowed here: {allowed}")]
    UnknownKey {
        /// Where it stands.
        place: Place,
        /// The key as typed.
        key: String,
        /// The table that it was found in.
        table: String,
        /// The word that was probably meant.
        hint: Hint,
        /// The keys that the table has.
        allowed: String,
    },
    /// A value of another type.
    #[error("{place}: found {found}; write {wanted}")]
    WrongType {
        /// Where it stands.
        place: Place,
        /// What was found.
        found: String,
        /// What would do.
        wanted: String,
    },
    /// A text longer than any name, reason or path.
    #[error("{place}: the text has {letters} letters; write at most {limit}")]
    TooLong {
        /// Where it stands.
        place: Place,
        /// Its length.
        letters: usize,
        /// Most that is read.
        limit: usize,
    },
    /// A key that must be there is not.
    #[error("{place}: \"{key}\" is missing; add {example}")]
    Missing {
        /// The table that lacks it.
        place: Place,
        /// The key.
        key: &'static str,
        /// A line that would do.
        example: &'static str,
    },
    /// A word that is none of the words allowed.
    #[error("{place}: \"{found}\" is not {what}{hint}; allowed: {allowed}")]
    NotAllowed {
        /// Where it stands.
        place: Place,
        /// The word as typed.
        found: String,
        /// What was wanted.
        what: &'static str,
        /// The word that was probably meant.
        hint: Hint,
        /// The words allowed.
        allowed: String,
    },
    /// A text that is not the quantity wanted.
    #[error("{place}: {cause}")]
    Unit {
        /// Where it stands.
        place: Place,
        /// What is wrong with it.
        #[source]
        cause: UnitError,
    },
    /// A text that is not a depth range.
    #[error("{place}: {cause}")]
    Depth {
        /// Where it stands.
        place: Place,
        /// What is wrong with it.
        #[source]
        cause: DepthError,
    },
    /// A number outside its range.
    #[error("{place}: {found} is out of range; allowed: {allowed}")]
    OutOfRange {
        /// Where it stands.
        place: Place,
        /// The value as typed.
        found: String,
        /// The range.
        allowed: &'static str,
    },
    /// A file named in the plan is not there.
    #[error(
        "{place}: there is no file \"{path}\"{hint}; paths are relative to the folder of the plan file"
    )]
    NoSuchFile {
        /// Where it is named.
        place: Place,
        /// The path that was looked at.
        path: String,
        /// A file of nearly that name.
        hint: Hint,
    },
    /// A folder, a device or a pipe where a file is wanted.
    #[error("{place}: \"{path}\" is not a file: {cause}; name a file")]
    NotAPlainFile {
        /// Where it is named.
        place: Place,
        /// The path that was looked at.
        path: String,
        /// What it is.
        cause: String,
    },
    /// Two statements that cannot both hold.
    #[error("{place}: {what}; {help}")]
    Contradiction {
        /// Where the second of them stands.
        place: Place,
        /// What cannot be.
        what: String,
        /// What to do about it.
        help: String,
    },
}

/// What the system said, without its number.
fn in_words(cause: &io::Error) -> String {
    let text = cause.to_string();
    text.split(" (os error")
        .next()
        .unwrap_or_default()
        .to_lowercase()
}

impl PlanError {
    /// The name of the file that was looked for and is not there.
    #[must_use]
    pub fn missing_file(&self) -> Option<&str> {
        match self {
            Self::NoSuchFile { path, .. } => Some(path),
            Self::Unreadable { place, cause } if cause.kind() == io::ErrorKind::NotFound => {
                Some(&place.file)
            }
            _ => None,
        }
    }

    /// Where the problem stands.
    #[must_use]
    pub fn place(&self) -> &Place {
        match self {
            Self::Unreadable { place, .. }
            | Self::NotAFile { place }
            | Self::TooLarge { place, .. }
            | Self::NotText { place }
            | Self::Syntax { place, .. }
            | Self::UnknownKey { place, .. }
            | Self::WrongType { place, .. }
            | Self::TooLong { place, .. }
            | Self::Missing { place, .. }
            | Self::NotAllowed { place, .. }
            | Self::Unit { place, .. }
            | Self::Depth { place, .. }
            | Self::OutOfRange { place, .. }
            | Self::NoSuchFile { place, .. }
            | Self::NotAPlainFile { place, .. }
            | Self::Contradiction { place, .. } => place,
        }
    }
}

/// What was probably meant, where that can be told.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum Hint {
    /// Nothing is near.
    #[default]
    None,
    /// A word that differs by a slip.
    DidYouMean(String),
    /// The key is right but stands in the wrong table.
    BelongsIn(String),
}

impl From<Option<&str>> for Hint {
    fn from(near: Option<&str>) -> Self {
        near.map_or(Self::None, |word| Self::DidYouMean(word.to_owned()))
    }
}

impl fmt::Display for Hint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::None => Ok(()),
            Self::DidYouMean(word) => write!(f, " (did you mean \"{word}\"?)"),
            Self::BelongsIn(table) => write!(f, " (it belongs {table})"),
        }
    }
}
