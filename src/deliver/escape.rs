//! Text that came from files, made harmless for the place where it is printed.

use std::fmt::Write;

/// Whether a character can move the cursor, change the direction of the text or hide in it.
fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{061C}' | '\u{2028}' | '\u{2029}' | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}' | '\u{FFFE}' | '\u{FFFF}')
}

/// One line for a terminal or a text file: line breaks and tabs become blanks, other control characters a `?`.
#[must_use]
pub fn terminal(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\r' | '\t' => ' ',
            c if is_unprintable(c) => '?',
            c => c,
        })
        .collect()
}

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
    let mut plain = terminal(text);
    if plain.trim_start().starts_with(['=', '+', '-', '@']) {
        plain.insert(0, '\'');
    }
    if plain.contains([',', '"', ';']) || plain.starts_with(' ') || plain.ends_with(' ') {
        plain = format!("\"{}\"", plain.replace('"', "\"\""));
    }
    plain
}

/// A JSON string with its quotes.
#[must_use]
pub fn json(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            c if is_unprintable(c) && (c as u32) < 0x1_0000 => {
                // Writing to a string cannot fail.
                let _ = write!(out, "\\u{:04x}", c as u32);
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
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
