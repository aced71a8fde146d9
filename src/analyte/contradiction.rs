//! Whether a column's name speaks against what the plan says the column is.

use super::naming::{Part, phrases_in};
use super::{Analyte, Meaning, Method, NamedResult, meaning_of};

/// Letters that a word needs to say an analyte by itself in a name that is not understood as a whole.
const CLEAR_WORD: usize = 4;
/// Letters that a word needs to say a method there.
const CLEAR_METHOD: usize = 3;

/// What a column's name says, in words, where that contradicts an analyte and a method; `None` where both agree or the name says nothing.
///
/// A plan may be more exact than a name (`sikora-2` for a column "Sikora buffer pH"), never another one. A covariate feeds no rule, so
/// no name contradicts it.
#[must_use]
pub fn contradiction(name: &str, analyte: &Analyte, method: Option<&Method>) -> Option<String> {
    if matches!(analyte, Analyte::Covariate(_)) {
        return None;
    }
    match meaning_of(name) {
        Meaning::Result(found) => of_result(&found, analyte, method),
        Meaning::Tie(meanings) => {
            let own = analyte.name();
            let is_own = |meaning: &String| meaning.split(' ').next() == Some(own.as_str());
            (!meanings.iter().any(is_own)).then(|| meanings.join(" or "))
        }
        Meaning::Oxide(other) => {
            (other != *analyte).then(|| format!("an oxide of {}", other.label()))
        }
        Meaning::Recommendation => Some("a recommendation, not a result".to_owned()),
        Meaning::Unknown => of_words(name, analyte, method),
    }
}

fn of_result(found: &NamedResult, analyte: &Analyte, method: Option<&Method>) -> Option<String> {
    if found.analyte != *analyte {
        let by = found.method.as_ref();
        return Some(by.map_or_else(
            || found.analyte.label(),
            |by| format!("{} by {by}", found.analyte.label()),
        ));
    }
    let (said, planned) = (found.method.as_ref()?, method?);
    (!is_within(planned.name(), said.name())).then(|| format!("{} by {said}", analyte.label()))
}

/// Whether a planned method is the method of a name or a kind of it.
fn is_within(planned: &str, said: &str) -> bool {
    planned
        .strip_prefix(said)
        .is_some_and(|rest| rest.is_empty() || rest.starts_with('-'))
}

/// The words of a name that is not understood as a whole: only clear ones count.
fn of_words(name: &str, analyte: &Analyte, method: Option<&Method>) -> Option<String> {
    let phrases = phrases_in(name);
    let parts = || phrases.iter().flat_map(|(_, parts)| parts.iter());
    let speaks_of_it =
        parts().any(|part| part.analyte().is_some_and(|other| is_akin(other, analyte)));
    if !speaks_of_it {
        let clear = |(phrase, parts): &(String, &std::collections::BTreeSet<Part>)| {
            let mut named = parts.iter().filter_map(Part::names);
            (phrase.len() >= CLEAR_WORD)
                .then(|| named.next().map(Analyte::label))
                .flatten()
        };
        return phrases.iter().find_map(clear);
    }
    let planned = method?;
    let methods: Vec<&str> = phrases
        .iter()
        .filter(|(phrase, _)| phrase.len() >= CLEAR_METHOD)
        .flat_map(|(_, parts)| parts.iter().filter_map(|part| part.method_of(analyte)))
        .collect();
    let agrees = methods.iter().any(|said| is_within(planned.name(), said));
    methods
        .first()
        .filter(|_| !agrees)
        .map(|said| format!("{} by {said}", analyte.label()))
}

/// The same element, as a content or as a saturation: a word that is not known here may turn one into the other.
fn is_akin(one: &Analyte, other: &Analyte) -> bool {
    let root = |analyte: &Analyte| analyte.name().trim_end_matches("_pct").to_owned();
    root(one) == root(other)
}

#[cfg(test)]
#[path = "contradiction_tests.rs"]
mod tests;
