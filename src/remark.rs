//! What the data made the program say: something was guessed, changed, left out, or needs an eye.
//!
//! A remark is not an error: the work goes on. Each says what was seen, where, what was done, and the way out.

use serde::Serialize;

use crate::provenance::Place;

/// How much a remark matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Level {
    /// Somebody should look: exit code 1.
    Look,
    /// The program guessed; the plan can say it outright.
    Guess,
    /// Good to know.
    Note,
}

impl Level {
    /// The word that is printed.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Look => "look",
            Self::Guess => "guess",
            Self::Note => "note",
        }
    }
}

/// One remark.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Remark {
    /// How much it matters.
    pub level: Level,
    /// A stable name for programs and tests, in kebab case: `points-outside-boundary`.
    pub code: &'static str,
    /// Where in the input, where there is such a place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// What was seen and what was done about it, one or two sentences.
    pub what: String,
    /// What the user can do, where there is something to do.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub way_out: Option<String>,
}

impl Remark {
    /// A remark of level "look".
    #[must_use]
    pub fn look(code: &'static str, what: impl Into<String>) -> Self {
        Self {
            level: Level::Look,
            code,
            place: None,
            what: what.into(),
            way_out: None,
        }
    }

    /// A remark of level "guess".
    #[must_use]
    pub fn guess(code: &'static str, what: impl Into<String>) -> Self {
        Self {
            level: Level::Guess,
            ..Self::look(code, what)
        }
    }

    /// A remark of level "note".
    #[must_use]
    pub fn note(code: &'static str, what: impl Into<String>) -> Self {
        Self {
            level: Level::Note,
            ..Self::look(code, what)
        }
    }

    /// The same remark, at a place.
    #[must_use]
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }

    /// The same remark, with a way out.
    #[must_use]
    pub fn way_out(mut self, way_out: impl Into<String>) -> Self {
        self.way_out = Some(way_out.into());
        self
    }
}
