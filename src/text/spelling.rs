//! The right word for a wrong one: "did you mean".

/// Words longer than this are no slip of the finger.
const LONGEST_WORD: usize = 64;

/// The candidate that a mistyped word most likely meant; `None` where nothing is near.
///
/// Letter case, blanks, hyphens and underscores do not count. One slip is forgiven in words of three to five
/// letters, two from six, three from nine; the first candidate wins a tie.
pub fn nearest<'c>(word: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let slips = match plain(word).chars().count() {
        0..=2 => 0,
        3..=5 => 1,
        6..=8 => 2,
        _ => 3,
    };
    nearest_within(slips, word, candidates)
}

/// The same with a number of slips that is forgiven; for words such as units, where two slips make another word.
pub fn nearest_within<'c>(
    slips: usize,
    word: &str,
    candidates: impl IntoIterator<Item = &'c str>,
) -> Option<&'c str> {
    if word.len() > LONGEST_WORD {
        return None;
    }
    let word = plain(word);
    candidates
        .into_iter()
        .map(|candidate| {
            (
                strsim::damerau_levenshtein(&word, &plain(candidate)),
                candidate,
            )
        })
        .filter(|(distance, _)| *distance <= slips)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// A word without what does not count.
fn plain(word: &str) -> String {
    word.chars()
        .filter(|c| !matches!(c, ' ' | '-' | '_'))
        .flat_map(char::to_lowercase)
        .collect()
}

/// A piece of the user's text, short enough for a message.
#[must_use]
pub fn shorten(text: &str) -> String {
    const LONGEST_QUOTE: usize = 80;
    match text.char_indices().nth(LONGEST_QUOTE) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

#[cfg(test)]
#[path = "spelling_tests.rs"]
mod tests;
