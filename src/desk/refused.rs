use thiserror::Error;

use crate::error::{Error, Failure, Outcome};

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
    /// The plan is not what Keep wrote last, so that Undo would throw an edit away.
    #[error(
        "the plan was changed by an editor since it was kept here; Undo would throw that change away, so nothing was written. Change the plan on what is there now"
    )]
    Edited,
    /// A newer change came.
    #[error("a newer change of this window came first; nothing was written")]
    Newer,
    /// More than the desk takes on.
    #[error("{0}")]
    TooMuch(String),
    /// A file that is larger than the desk takes.
    #[error("{0}")]
    TooLarge(String),
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
            Self::Changed | Self::Edited => 409,
            Self::Newer => 410,
            Self::TooLarge(_) => 413,
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
            Self::Edited => "edited",
            Self::Newer => "newer",
            Self::TooMuch(_) => "too-much",
            Self::TooLarge(_) => "too-large",
            Self::Engine(failure) if failure.errors().iter().any(is_of_strips_zone) => "strip-zone",
            Self::Engine(_) => "refused",
        }
    }

    /// What is wrong, one text for each problem.
    #[must_use]
    pub fn stories(&self) -> Vec<String> {
        match self {
            Self::Engine(failure) => failure.errors().iter().map(story).collect(),
            other => vec![other.to_string()],
        }
    }
}

/// Whether an error is of a number of a zone that a check strip names.
fn is_of_strips_zone(error: &Error) -> bool {
    let text = error.to_string();
    text.contains("strips.products") && text.contains("there is no zone")
}

/// An error in the words of the page.
fn story(error: &Error) -> String {
    if !is_of_strips_zone(error) {
        return error.story();
    }
    let text = error.to_string();
    let at = text.find("there is no zone").unwrap_or_default();
    format!(
        "A check strip of the plan is asked for by the number of its zone, and with this change {}. Let the strip lie in whatever zones it changes, or choose another number of zones",
        &text[at..]
    )
}
