//! Text that came from files, made harmless for the place where it is printed.

use crate::text::{is_unprintable, one_line};

/// Text between tags or inside a quoted attribute, of HTML and of XML alike.
#[must_use]
pub fn markup(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\r' | '\t' => out.push(' '),
            c if is_unprintable(c) => out.push('\u{FFFD}'),
            c => out.push(c),
        }
    }
    out
}

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
