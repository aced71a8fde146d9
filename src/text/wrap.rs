use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};

/// Columns of a page and of the narrowest usual terminal.
pub const WIDTH: usize = 80;

/// Whether a character can move the cursor, change the direction of the text or hide in it.
#[must_use]
pub fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{061C}' | '\u{2028}' | '\u{2029}' | '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}' | '\u{FFFE}' | '\u{FFFF}')
}

/// One line for a terminal or a text file: line breaks and tabs become blanks, other control characters a `?`.
#[must_use]
pub fn one_line(text: &str) -> String {
    printable(text, '?')
}

/// One line for markup: as [`one_line`], with Unicode's replacement character for what controls, turns or hides.
#[must_use]
pub fn markup_line(text: &str) -> String {
    printable(text, '\u{FFFD}')
}

fn printable(text: &str, replacement: char) -> String {
    text.chars()
        .map(|c| match c {
            '\n' | '\r' | '\t' => ' ',
            c if is_unprintable(c) => replacement,
            c => c,
        })
        .collect()
}

/// Breaks a text at blanks into lines of at most `width` characters; a longer word is broken where it must.
/// Runs of blanks count as one. There is always at least one line.
#[must_use]
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    // Ragged right, no hyphens: the same text breaks at the same places in every report.
    let options = Options::new(width.max(1))
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit)
        .break_words(true);
    let plain = text.split_whitespace().collect::<Vec<_>>().join(" ");
    textwrap::wrap(&plain, options)
        .into_iter()
        .map(std::borrow::Cow::into_owned)
        .collect()
}
