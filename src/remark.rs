//! What the data made the program say: something was guessed, changed, left out, or needs an eye.
//!
//! A remark is not an error: the work goes on. Each says what was seen, where, what was done, and the way out.

use serde::Serialize;

use crate::provenance::Place;

/// How much a remark matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub enum Level {
    /// Somebody should look: exit code 1.
    #[serde(rename = "look")]
    Warning,
    /// The program guessed; the plan can say it outright.
    #[serde(rename = "guess")]
    Assumption,
    /// Good to know.
    #[serde(rename = "note")]
    Info,
}

impl Level {
    /// The word that is printed.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Warning => "check",
            Self::Assumption => "assumed",
            Self::Info => "note",
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
    #[serde(rename = "way_out", skip_serializing_if = "Option::is_none")]
    pub help: Option<String>,
}

impl Remark {
    /// A remark of level "look".
    #[must_use]
    pub fn warning(code: &'static str, what: impl Into<String>) -> Self {
        Self {
            level: Level::Warning,
            code,
            place: None,
            what: what.into(),
            help: None,
        }
    }

    /// A remark of level "guess".
    #[must_use]
    pub fn assumption(code: &'static str, what: impl Into<String>) -> Self {
        Self {
            level: Level::Assumption,
            ..Self::warning(code, what)
        }
    }

    /// A remark of level "note".
    #[must_use]
    pub fn info(code: &'static str, what: impl Into<String>) -> Self {
        Self {
            level: Level::Info,
            ..Self::warning(code, what)
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
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}
