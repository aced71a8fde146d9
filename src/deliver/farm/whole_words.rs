//! Names that fit where a format has little room, cut only at whole words.

use std::collections::BTreeSet;

/// The leading words of a text that fit in so many characters. A first word that is longer itself is cut.
pub(super) fn whole_words(text: &str, most: usize) -> String {
    let mut kept = String::new();
    for word in text.split_whitespace() {
        let length = kept.chars().count() + usize::from(!kept.is_empty()) + word.chars().count();
        if length > most {
            break;
        }
        if !kept.is_empty() {
            kept.push(' ');
        }
        kept.push_str(word);
    }
    if kept.is_empty() {
        return text.trim().chars().take(most).collect();
    }
    kept
}

/// Names that are given once only.
#[derive(Default)]
pub(super) struct Given(BTreeSet<String>);

impl Given {
    /// A first part cut at whole words, before an end that is kept whole; numbered where it was given before.
    pub(super) fn name(&mut self, first: &str, end: &str, most: usize) -> String {
        for number in 1_usize.. {
            let tail = match number {
                1 => String::new(),
                _ => format!(" {number}"),
            };
            let tail = if end.is_empty() {
                tail
            } else {
                format!("{tail} {end}")
            };
            let tail: String = tail.chars().take(most.saturating_sub(1)).collect();
            let room = most.saturating_sub(tail.chars().count());
            let name = whole_words(first, room) + &tail;
            if self.0.insert(name.clone()) {
                return name;
            }
        }
        String::new()
    }
}

#[cfg(test)]
mod tests {
    use super::{Given, whole_words};

    #[test]
    fn a_name_is_cut_at_whole_words_and_given_once() {
        assert_eq!(whole_words("North Forty East", 12), "North Forty");
        assert_eq!(whole_words("Northfortyeast", 5), "North");
        let mut given = Given::default();
        let long = "Long meadow behind the old creamery";
        let first = given.name(long, "lime 2027", 32);
        assert_eq!(first, "Long meadow behind the lime 2027");
        assert_eq!(
            given.name(long, "lime 2027", 32),
            "Long meadow behind 2 lime 2027"
        );
        assert!(given.name("a", &"x".repeat(60), 32).chars().count() <= 32);
    }
}
