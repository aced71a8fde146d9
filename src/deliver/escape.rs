//! Text that came from files, made harmless for the place where it is printed.

use crate::text::one_line;

/// One cell of a CSV file. A text that a spreadsheet would run as a formula gets an apostrophe before it.
#[must_use]
pub fn csv(text: &str) -> String {
    let mut plain = one_line(text);
    if plain.trim_start().starts_with(['=', '+', '-', '@']) {
        plain.insert(0, '\'');
    }
    if plain.contains([',', '"', ';']) || plain.starts_with(' ') || plain.ends_with(' ') {
        plain = format!("\"{}\"", plain.replace('"', "\"\""));
    }
    plain
}

/// The first `bytes` bytes of a text, cut between two characters.
#[must_use]
pub fn cut(text: &str, bytes: usize) -> &str {
    let mut end = text.len().min(bytes);
    while !text.is_char_boundary(end) {
        end -= 1;
    }
    &text[..end]
}
