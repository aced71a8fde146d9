use thiserror::Error;

use crate::error::{Failure, Outcome};

/// Why a request of the page is not done.
#[derive(Debug, Error)]
pub enum Refused {
    /// The request itself cannot be understood.
    #[error("{0}")]
    Malformed(String),
    /// It names something that is not there.
    #[error("{0}")]
    NotFound(String),
    /// The plan was changed underneath.
    #[error(
        "the plan was changed by an editor or another window since this page read it; nothing was written. Read it again, and make your changes on what is there now"
    )]
    Changed,
    /// A newer change came.
    #[error("a newer change came first")]
    Newer,
    /// More than the desk takes on.
    #[error("{0}")]
    TooMuch(String),
    /// The engine's word.
    #[error(transparent)]
    Engine(#[from] Failure),
}

impl Refused {
    /// The code of HTTP.
    #[must_use]
    pub fn status(&self) -> u16 {
        match self {
            Self::Malformed(_) => 400,
            Self::NotFound(_) => 404,
            Self::Changed => 409,
            Self::Newer => 410,
            Self::TooMuch(_) => 429,
            Self::Engine(failure) if failure.outcome() == Outcome::Failed => 500,
            Self::Engine(_) => 422,
        }
    }

    /// A word for programs.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Self::Malformed(_) => "malformed",
            Self::NotFound(_) => "not-found",
            Self::Changed => "changed",
            Self::Newer => "newer",
            Self::TooMuch(_) => "too-much",
            Self::Engine(_) => "refused",
        }
    }
}
