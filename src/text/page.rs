//! A page of 80 columns: headings, wrapped paragraphs, tables.

use super::table::{Column, table_lines};
use super::wrap::{WIDTH, one_line, wrap};

/// Lines of text, grown from top to bottom.
#[derive(Debug, Default)]
pub struct Page {
    text: String,
}

impl Page {
    /// A blank line, unless the page starts or one is there.
    pub fn blank(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    /// A chapter's heading, underlined.
    pub fn chapter(&mut self, title: &str) {
        self.underlined(&one_line(title).to_uppercase(), "=");
    }

    /// A section's heading, underlined.
    pub fn section(&mut self, title: &str) {
        self.underlined(&one_line(title), "-");
    }

    fn underlined(&mut self, title: &str, mark: &str) {
        self.blank();
        for line in wrap(title, WIDTH) {
            let width = line.chars().count();
            self.line(&line);
            self.line(&mark.repeat(width));
        }
    }

    /// A paragraph; its first line starts with `lead`, the others are set in as deep.
    pub fn item(&mut self, lead: &str, text: &str) {
        let indent = lead.chars().count();
        let body = one_line(text);
        for (at, line) in wrap(&body, WIDTH.saturating_sub(indent).max(20))
            .iter()
            .enumerate()
        {
            if at == 0 {
                self.line(&format!("{lead}{line}"));
            } else {
                self.line(&format!("{}{line}", " ".repeat(indent)));
            }
        }
    }

    /// A paragraph.
    pub fn paragraph(&mut self, text: &str) {
        self.item("", text);
    }

    /// A table.
    pub fn table(&mut self, columns: &[Column], rows: &[Vec<String>]) {
        for line in table_lines(columns, rows) {
            self.line(&line);
        }
    }

    fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    /// The page's text.
    #[must_use]
    pub fn finish(self) -> String {
        self.text
    }
}
