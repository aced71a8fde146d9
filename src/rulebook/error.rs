use std::sync::Arc;

use thiserror::Error;

use crate::provenance::Place;
use crate::text::nearest;

/// Why a rulebook file cannot be used.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum RulebookError {
    /// The file cannot be read from the disk.
    #[error("{file}: the rulebook file cannot be read; check the path in [rules] of the plan")]
    Unreadable {
        /// The file as the user named it.
        file: Arc<str>,
        /// What the system said.
        #[source]
        source: std::io::Error,
    },
    /// The file is larger than any rulebook.
    #[error(
        "{file}: {bytes} bytes is too large for a rulebook (at most {allowed}); is this the right file?"
    )]
    TooLarge {
        /// The file as the user named it.
        file: Arc<str>,
        /// Its size.
        bytes: u64,
        /// The most that is read.
        allowed: u64,
    },
    /// The text is no TOML.
    #[error("{place}: not TOML: {what}")]
    Syntax {
        /// Where.
        place: Place,
        /// What the reader of TOML said.
        what: String,
    },
    /// A key that the rulebook does not know.
    #[error("{place}: the rulebook has no such key{}; known here: {allowed}", did_you_mean(nearest.as_deref()))]
    UnknownKey {
        /// Where.
        place: Place,
        /// The nearest known key.
        nearest: Option<String>,
        /// The known keys.
        allowed: String,
    },
    /// A key that must be there is absent.
    #[error("{place}: missing; {what}")]
    Missing {
        /// The entry and the key that is wanted.
        place: Place,
        /// What to write.
        what: &'static str,
    },
    /// A region that there is no pack of.
    #[error("{}there are no rules for the region \"{region}\"{}; known: {allowed} (`lowstave rulebook regions` tells what each holds); leave region out for national numbers", place.as_ref().map(|place| format!("{place}: ")).unwrap_or_default(), did_you_mean(nearest.as_deref()))]
    UnknownRegion {
        /// Where, in a plan.
        place: Option<Place>,
        /// The word of the plan.
        region: String,
        /// The nearest known region.
        nearest: Option<String>,
        /// The known regions.
        allowed: String,
    },
    /// A value of the wrong kind.
    #[error("{place}: found {found}, but {wanted} is wanted here")]
    WrongKind {
        /// Where.
        place: Place,
        /// What stands there.
        found: String,
        /// What should.
        wanted: String,
    },
    /// A word that is none of the words allowed.
    #[error("{place}: \"{word}\" is not known here{}; use one of: {allowed}", did_you_mean(nearest.as_deref()))]
    UnknownWord {
        /// Where.
        place: Place,
        /// The word.
        word: String,
        /// The nearest right one.
        nearest: Option<String>,
        /// The right ones.
        allowed: String,
    },
    /// A number outside what makes sense.
    #[error("{place}: {found} is out of range; allowed: {allowed}")]
    OutOfRange {
        /// Where.
        place: Place,
        /// The number.
        found: String,
        /// The range in words.
        allowed: &'static str,
    },
    /// Two keys that contradict each other.
    #[error("{place}: {what}")]
    Contradiction {
        /// Where.
        place: Place,
        /// What contradicts what, and the way out.
        what: String,
    },
}

impl RulebookError {
    /// Where it is, where it has a row.
    pub(super) fn place_mut(&mut self) -> Option<&mut Place> {
        match self {
            Self::Unreadable { .. } | Self::TooLarge { .. } => None,
            Self::UnknownRegion { place, .. } => place.as_mut(),
            Self::Syntax { place, .. }
            | Self::UnknownKey { place, .. }
            | Self::Missing { place, .. }
            | Self::WrongKind { place, .. }
            | Self::UnknownWord { place, .. }
            | Self::OutOfRange { place, .. }
            | Self::Contradiction { place, .. } => Some(place),
        }
    }
}

/// The errors that are the user's own: where a file of theirs is at fault, what then fails in the program's rules follows from that.
pub(super) fn without_what_follows(
    mut errors: Vec<RulebookError>,
    is_built_in: impl Fn(&Place) -> bool,
) -> Vec<RulebookError> {
    // A second error at one key is about the stand-in for what the first one is about.
    let mut of_wrong_kind: Vec<Place> = Vec::new();
    errors.retain_mut(|error| {
        let is_of_wrong_kind = matches!(error, RulebookError::WrongKind { .. });
        let place = error.place_mut();
        let is_first = place
            .as_ref()
            .is_none_or(|place| !of_wrong_kind.contains(place));
        of_wrong_kind.extend(place.filter(|_| is_of_wrong_kind).cloned());
        is_first
    });
    let is_own =
        |error: &mut RulebookError| error.place_mut().is_none_or(|place| !is_built_in(place));
    if errors.iter_mut().any(is_own) {
        errors.retain_mut(is_own);
    }
    errors
}

fn did_you_mean(nearest: Option<&str>) -> String {
    nearest
        .map(|word| format!("; did you mean \"{word}\"?"))
        .unwrap_or_default()
}

/// The nearest of some words, where one is near enough to be a slip of the keyboard.
pub(super) fn nearest_word<'a>(word: &str, words: impl Iterator<Item = &'a str>) -> Option<String> {
    nearest(word, words).map(str::to_owned)
}
