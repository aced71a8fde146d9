//! What a column's name says: analyte, test method, unit, depth; or that it is a recommendation.
//!
//! The name is cut into words; known phrases (longest first) must cover every word that is not filler.
//! A name that is only partly understood is not understood.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

use unicode_normalization::UnicodeNormalization;

use super::catalogue::{Catalogue, plain_unit};
use super::{Analyte, DepthRange, Method};

/// What a column's name was understood to say.
#[derive(Debug, Clone, PartialEq)]
pub enum Meaning {
    /// One analyte.
    Result(NamedResult),
    /// More than one analyte or method fits.
    Tie(Vec<String>),
    /// An oxide such as P2O5, which is neither the element nor safely a result.
    Oxide(Analyte),
    /// A recommendation, not a result.
    Recommendation,
    /// Nothing in the catalogue.
    Unknown,
}

/// An analyte with what else its column's name says.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedResult {
    /// The analyte.
    pub analyte: Analyte,
    /// The method, where the name says it.
    pub method: Option<Method>,
    /// The unit as written in the name.
    pub unit: Option<String>,
    /// The depth, where the name says it: `pH 0-6in`.
    pub depth: Option<DepthRange>,
}

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Part {
    Analyte(Analyte),
    Method(Analyte, String),
    Full(Analyte, String),
    Oxide(Analyte),
    Recommendation,
}

impl Part {
    /// The analyte that it speaks of.
    pub(super) fn analyte(&self) -> Option<&Analyte> {
        match self {
            Self::Analyte(a) | Self::Method(a, _) | Self::Full(a, _) | Self::Oxide(a) => Some(a),
            Self::Recommendation => None,
        }
    }

    /// The analyte that it names by itself.
    pub(super) fn names(&self) -> Option<&Analyte> {
        match self {
            Self::Analyte(a) | Self::Full(a, _) => Some(a),
            _ => None,
        }
    }

    /// The method of an analyte that it says.
    pub(super) fn method_of(&self, analyte: &Analyte) -> Option<&str> {
        match self {
            Self::Method(a, method) | Self::Full(a, method) if a == analyte => Some(method),
            _ => None,
        }
    }
}

/// Longest phrase, in words.
const LONGEST: usize = 5;

static PHRASES: LazyLock<BTreeMap<String, BTreeSet<Part>>> = LazyLock::new(phrases);

fn phrases() -> BTreeMap<String, BTreeSet<Part>> {
    let catalogue = Catalogue::built_in();
    let mut all: BTreeMap<String, BTreeSet<Part>> = BTreeMap::new();
    let mut add = |phrase: &str, part: Part| {
        all.entry(phrase.to_owned()).or_default().insert(part);
    };
    for (analyte, entry) in catalogue.entries() {
        add(
            &analyte.name().replace('_', " "),
            Part::Analyte(analyte.clone()),
        );
        entry
            .names
            .iter()
            .for_each(|name| add(name, Part::Analyte(analyte.clone())));
        for (method, names) in &entry.methods {
            for name in names {
                add(name, Part::Method(analyte.clone(), method.clone()));
            }
        }
        for (method, names) in &entry.full {
            for name in names {
                add(name, Part::Full(analyte.clone(), method.clone()));
            }
        }
        if let Some(oxide) = &entry.oxide {
            add(&oxide.name, Part::Oxide(analyte.clone()));
        }
    }
    catalogue
        .recommendation
        .iter()
        .for_each(|word| add(word, Part::Recommendation));
    all
}

/// A name in the form used for matching: compatibility forms folded, trimmed, blanks collapsed, lower case.
#[must_use]
pub fn plain_name(text: &str) -> String {
    // Of plain ASCII there is nothing to fold.
    let folded: String = if text.is_ascii() {
        text.to_ascii_lowercase()
    } else {
        text.nfkc().flat_map(char::to_lowercase).collect()
    };
    folded.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A plain name without accents, with abbreviations such as `o.m.` and `exch.` without their dots, and with units in one piece.
#[must_use]
pub fn folded_name(text: &str) -> String {
    let is_accent = |c: &char| ('\u{300}'..='\u{36f}').contains(c);
    let mut bare = plain_name(text);
    if !bare.is_ascii() {
        let letters = bare.nfd().filter(|c| !is_accent(c));
        bare = letters.collect::<String>().replace('ß', "ss");
    }
    let spellings = &Catalogue::built_in().unit_spellings;
    let whole = spellings.iter().fold(bare, |name, (spelling, other)| {
        if name.contains(spelling.as_str()) {
            name.replace(spelling.as_str(), other)
        } else {
            name
        }
    });
    without_dots(&whole)
}

/// Takes the dots out of abbreviations and leaves those of numbers.
fn without_dots(name: &str) -> String {
    let chars: Vec<char> = name.chars().collect();
    let is_letter = |at: Option<usize>| {
        at.and_then(|at| chars.get(at))
            .is_some_and(|c| c.is_alphabetic())
    };
    let mut out = String::with_capacity(name.len());
    for (at, &c) in chars.iter().enumerate() {
        if c != '.' || !is_letter(at.checked_sub(1)) {
            out.push(c);
            continue;
        }
        let is_one_letter = !is_letter(at.checked_sub(2));
        let is_followed_by_one = is_letter(Some(at + 1)) && !is_letter(Some(at + 2));
        // `mg.kg` is how some programs write mg/kg.
        if is_letter(Some(at + 1)) && !(is_one_letter && is_followed_by_one) {
            out.push('.');
        }
    }
    out
}

/// What a column's name says.
#[must_use]
pub fn meaning_of(name: &str) -> Meaning {
    let (rest, depth) = take_depth(&folded_name(name));
    let words = words_of(&rest);
    let mut units = Vec::new();
    let mut parts: Vec<&BTreeSet<Part>> = Vec::new();
    let mut at = 0;
    while at < words.len() {
        if let Some((length, found)) = longest_phrase(&words[at..]) {
            parts.push(found);
            at += length;
        } else if is_unit(&words[at]) {
            units.push(words[at].clone());
            at += 1;
        } else if Catalogue::built_in().filler.contains(&words[at]) {
            at += 1;
        } else {
            let is_recommendation = parts
                .iter()
                .any(|found| found.contains(&Part::Recommendation))
                || words[at..]
                    .iter()
                    .any(|word| Catalogue::built_in().recommendation.contains(word));
            return if is_recommendation {
                Meaning::Recommendation
            } else {
                Meaning::Unknown
            };
        }
    }
    let unit = (!units.is_empty()).then(|| units.join(" "));
    combine(&parts, unit, depth)
}

fn combine(parts: &[&BTreeSet<Part>], unit: Option<String>, depth: Option<DepthRange>) -> Meaning {
    if parts
        .iter()
        .any(|found| found.contains(&Part::Recommendation))
    {
        return Meaning::Recommendation;
    }
    if let Some(Part::Oxide(analyte)) = parts
        .iter()
        .flat_map(|found| found.iter())
        .find(|part| matches!(part, Part::Oxide(_)))
    {
        return Meaning::Oxide(analyte.clone());
    }
    let named: Vec<BTreeSet<&Analyte>> = parts
        .iter()
        .map(|found| {
            found
                .iter()
                .filter_map(|part| {
                    if let Part::Analyte(a) | Part::Full(a, _) = part {
                        Some(a)
                    } else {
                        None
                    }
                })
                .collect()
        })
        .filter(|set: &BTreeSet<&Analyte>| !set.is_empty())
        .collect();
    let Some(candidates) = named
        .iter()
        .cloned()
        .reduce(|a, b| if a.is_disjoint(&b) { &a | &b } else { &a & &b })
    else {
        return Meaning::Unknown;
    };
    let mut candidates: Vec<&Analyte> = candidates.into_iter().collect();
    candidates.retain(|analyte| {
        parts
            .iter()
            .all(|found| found.iter().any(|part| speaks_of(part, analyte)))
    });
    match candidates.as_slice() {
        [] if named.len() > 1 => Meaning::Unknown,
        [] => Meaning::Unknown,
        [analyte] => with_method(analyte, parts, unit, depth),
        several => Meaning::Tie(several.iter().map(|analyte| analyte.name()).collect()),
    }
}

fn speaks_of(part: &Part, analyte: &Analyte) -> bool {
    matches!(part, Part::Analyte(a) | Part::Method(a, _) | Part::Full(a, _) if a == analyte)
}

fn with_method(
    analyte: &Analyte,
    parts: &[&BTreeSet<Part>],
    unit: Option<String>,
    depth: Option<DepthRange>,
) -> Meaning {
    let methods: BTreeSet<&String> = parts
        .iter()
        .flat_map(|found| found.iter())
        .filter_map(|part| match part {
            Part::Method(a, method) | Part::Full(a, method) if a == analyte => Some(method),
            _ => None,
        })
        .collect();
    if methods.len() > 1 {
        return Meaning::Tie(
            methods
                .iter()
                .map(|method| format!("{} by {method}", analyte.name()))
                .collect(),
        );
    }
    let method = methods.first().map(|method| Method::new(method));
    Meaning::Result(NamedResult {
        analyte: analyte.clone(),
        method,
        unit,
        depth,
    })
}

/// The known phrases of a name, each with what it may say; words that are not known are passed over.
pub(super) fn phrases_in(name: &str) -> Vec<(String, &'static BTreeSet<Part>)> {
    let (rest, _) = take_depth(&folded_name(name));
    let words = words_of(&rest);
    let (mut at, mut found) = (0, Vec::new());
    while at < words.len() {
        let (length, parts) = longest_phrase(&words[at..]).unzip();
        let length = length.unwrap_or(1);
        found.extend(parts.map(|parts| (words[at..at + length].join(" "), parts)));
        at += length;
    }
    found
}

pub(super) fn longest_phrase(words: &[String]) -> Option<(usize, &'static BTreeSet<Part>)> {
    (1..=words.len().min(LONGEST))
        .rev()
        .find_map(|length| Some((length, PHRASES.get(&words[..length].join(" "))?)))
}

/// Whether a word is a unit of any analyte.
pub(super) fn is_unit(word: &str) -> bool {
    Catalogue::built_in().has_unit(&plain_unit(word))
}

/// Cuts a plain name into words at blanks, brackets, underscores, commas and hyphens. A unit or a ratio stays whole.
pub(super) fn words_of(name: &str) -> Vec<String> {
    let mut words = Vec::new();
    for piece in name
        .split(|c: char| c.is_whitespace() || "_()[]{},;|-".contains(c))
        .filter(|piece| !piece.is_empty())
    {
        if is_unit(piece) || PHRASES.contains_key(piece) {
            words.push(piece.to_owned());
            continue;
        }
        for part in piece.split('/').filter(|part| !part.is_empty()) {
            match part
                .strip_prefix('%')
                .map(|rest| ("%", rest))
                .or_else(|| part.strip_suffix('%').map(|rest| (rest, "%")))
            {
                Some((first, second)) => words.extend(
                    [first, second]
                        .into_iter()
                        .filter(|w| !w.is_empty())
                        .map(str::to_owned),
                ),
                None => words.push(part.to_owned()),
            }
        }
    }
    join_unit(words)
}

/// Puts `me/100 g` and `kg/ha` back together where a blank stood in them.
fn join_unit(words: Vec<String>) -> Vec<String> {
    let mut out: Vec<String> = Vec::with_capacity(words.len());
    for word in words {
        if word == "g" && out.last().is_some_and(|last| last.ends_with("100")) {
            if let Some(last) = out.last_mut() {
                last.push('g');
            }
            if let [.., first, second] = out.as_mut_slice()
                && second == "100g"
            {
                first.push_str("/100g");
                out.pop();
            }
        } else {
            out.push(word);
        }
    }
    out
}

/// Takes a depth such as `0-6 in` or `15_30cm` out of a name.
fn take_depth(name: &str) -> (String, Option<DepthRange>) {
    let bytes = name.as_bytes();
    for (start, _) in name.char_indices().filter(|&(at, c)| {
        c.is_ascii_digit() && (at == 0 || !bytes[at - 1].is_ascii_alphanumeric())
    }) {
        let rest = &name[start..];
        let Some(separator) = rest.find(|c: char| !(c.is_ascii_digit() || c == '.')) else {
            continue;
        };
        if !rest[separator..].starts_with(['-', '–', '_', ' ']) {
            continue;
        }
        for unit in ["inches", "inch", "in", "cm", "mm", "\"", "”"] {
            let Some(at) = rest.find(unit) else { continue };
            let end = at + unit.len();
            let is_word_end = rest[end..]
                .chars()
                .next()
                .is_none_or(|c| !c.is_alphanumeric());
            let text = rest[..end].replacen('_', "-", 1);
            if is_word_end && let Ok(depth) = DepthRange::parse(&text, None) {
                return (format!("{} {}", &name[..start], &rest[end..]), Some(depth));
            }
        }
    }
    (name.to_owned(), None)
}

#[cfg(test)]
#[path = "naming_tests.rs"]
mod tests;
