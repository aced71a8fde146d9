use super::color::Tone;
use crate::text::{Column, WIDTH, table_lines, wrap};

/// Lines of text, each made of pieces with a tone. Text from files goes in as it is: a page is made harmless when it
/// is rendered, so that no place can forget it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Page {
    lines: Vec<Vec<(Tone, String)>>,
}

impl Page {
    /// Adds a line of one tone.
    pub fn line(&mut self, tone: Tone, text: impl Into<String>) {
        self.lines.push(vec![(tone, text.into())]);
    }

    /// Adds a line of pieces.
    pub fn pieces<const N: usize>(&mut self, pieces: [(Tone, String); N]) {
        self.lines.push(pieces.into());
    }

    /// Adds the lines of another page.
    pub fn append(&mut self, mut other: Self) {
        self.lines.append(&mut other.lines);
    }

    /// Adds an empty line.
    pub fn gap(&mut self) {
        self.lines.push(Vec::new());
    }

    /// Adds a paragraph of 80 columns that starts with a lead of its own tone; its further lines are set in by two blanks.
    pub fn wrapped(&mut self, lead: (Tone, &str), tone: Tone, text: &str) {
        let whole = format!("{}{}", harmless(lead.1), harmless(text));
        let mut lines = wrap(&whole, WIDTH - 2).into_iter();
        let first = lines.next().unwrap_or_default();
        match first.strip_prefix(lead.1) {
            Some(rest) => self.pieces([(lead.0, lead.1.to_owned()), (tone, rest.to_owned())]),
            None => self.line(tone, first),
        }
        lines.for_each(|line| self.line(tone, format!("  {line}")));
    }

    /// Adds a text of 80 columns, all its lines set in by some blanks. Words are not broken.
    pub fn set_in(&mut self, tone: Tone, blanks: usize, text: &str) {
        let indent = " ".repeat(blanks);
        for line in wrap(&harmless(text), WIDTH.saturating_sub(blanks)) {
            self.line(tone, format!("{indent}{line}"));
        }
    }

    /// Adds a table that fits 80 columns: long heads and texts are broken at words.
    pub fn fitted_table(&mut self, columns: &[Column], rows: &[Vec<String>]) {
        for line in table_lines(columns, rows) {
            self.line(Tone::Plain, line);
        }
    }

    /// The page as text, with escape sequences for the tones where colors are wanted.
    #[must_use]
    pub fn render(&self, has_color: bool) -> String {
        let mut text = String::new();
        for line in &self.lines {
            for (tone, piece) in line {
                match tone.sequence().filter(|_| has_color) {
                    Some(sequence) => text.extend([sequence, &harmless(piece), "\x1b[0m"]),
                    None => text.push_str(&harmless(piece)),
                }
            }
            text.push('\n');
        }
        text
    }
}

/// Text in which nothing can move the cursor, change colors or turn the direction of writing: such characters are
/// shown by their number.
pub(super) fn harmless(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for c in text.chars() {
        let turns_text = matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}');
        match c {
            '\t' => plain.push(' '),
            c if c.is_control() || turns_text => plain.extend(c.escape_unicode()),
            c => plain.push(c),
        }
    }
    plain
}

#[cfg(test)]
#[path = "page_tests.rs"]
mod tests;
