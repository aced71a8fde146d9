use crate::text::is_unprintable;

/// A text on one line without characters that control, turn or hide; the markup itself is escaped by `maud`.
#[must_use]
pub fn plain(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\r' | '\t' => ' ',
            c if is_unprintable(c) => '\u{FFFD}',
            c => c,
        })
        .collect()
}
