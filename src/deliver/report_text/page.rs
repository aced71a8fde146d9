//! A page of 80 columns: headings, wrapped paragraphs, tables.

use crate::deliver::escape::terminal;

/// Width of the page.
pub const WIDTH: usize = 80;
const GAP: usize = 2;
/// A first column of names is not made narrower than this.
const NARROWEST_NAME: usize = 24;

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
        self.underlined(&terminal(title).to_uppercase(), "=");
    }

    /// A section's heading, underlined.
    pub fn section(&mut self, title: &str) {
        self.underlined(&terminal(title), "-");
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
        let body = terminal(text);
        for (at, line) in wrap(&body, WIDTH.saturating_sub(indent).max(20)).iter().enumerate() {
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

    /// A table. Columns that do not fit beside each other follow below, with the first column repeated.
    pub fn table(&mut self, columns: &[Column], rows: &[Vec<String>]) {
        let cells: Vec<Vec<String>> = rows.iter().map(|row| row.iter().map(|cell| terminal(cell)).collect()).collect();
        let mut widths: Vec<usize> = (0..columns.len()).map(|at| width_of(&columns[at], at, &cells)).collect();
        let total = widths.iter().sum::<usize>() + GAP * columns.len().saturating_sub(1);
        if let (Some(first), Some(width)) = (columns.first(), widths.first_mut())
            && !first.is_right
        {
            // Long names are broken into lines before a table is broken into two.
            *width = (*width).min(WIDTH.saturating_sub(total - *width).max(NARROWEST_NAME));
        }
        let mut from = 1.min(columns.len());
        while from < columns.len() {
            let mut room = WIDTH.saturating_sub(widths[0]);
            let mut to = from;
            while to < columns.len() && (widths[to] + GAP <= room || to == from) {
                room = room.saturating_sub(widths[to] + GAP);
                to += 1;
            }
            let shown: Vec<usize> = std::iter::once(0).chain(from..to).collect();
            self.table_part(&shown, columns, &widths, &cells);
            if to < columns.len() {
                self.blank();
            }
            from = to;
        }
    }

    fn table_part(&mut self, shown: &[usize], columns: &[Column], widths: &[usize], cells: &[Vec<String>]) {
        let row = |texts: Vec<&str>| {
            let parts = shown.iter().zip(texts).map(|(&at, text)| columns[at].set(text, widths[at]));
            parts.collect::<Vec<_>>().join(&" ".repeat(GAP)).trim_end().to_owned()
        };
        self.line(&row(shown.iter().map(|&at| columns[at].title.as_str()).collect()));
        if shown.iter().any(|&at| !columns[at].unit.is_empty()) {
            self.line(&row(shown.iter().map(|&at| columns[at].unit.as_str()).collect()));
        }
        let total: usize = shown.iter().map(|&at| widths[at]).sum::<usize>() + GAP * (shown.len() - 1);
        self.line(&"-".repeat(total.min(WIDTH)));
        for cells in cells {
            let mut names = wrap(cells.first().map_or("", String::as_str), widths[0]).into_iter();
            let name = names.next().unwrap_or_default();
            let others = shown.iter().skip(1).map(|&at| cells.get(at).map_or("", String::as_str));
            self.line(&row(std::iter::once(name.as_str()).chain(others).collect()));
            names.for_each(|name| self.line(&format!("  {name}")));
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

/// A column of a table.
#[derive(Debug, Clone)]
pub struct Column {
    title: String,
    unit: String,
    is_right: bool,
}

impl Column {
    /// Text, set to the left.
    #[must_use]
    pub fn text(title: &str) -> Self {
        Self { title: terminal(title), unit: String::new(), is_right: false }
    }

    /// Numbers, set to the right, with their unit below the title.
    #[must_use]
    pub fn number(title: &str, unit: &str) -> Self {
        Self { title: terminal(title), unit: terminal(unit), is_right: true }
    }

    fn set(&self, text: &str, width: usize) -> String {
        let blank = " ".repeat(width.saturating_sub(text.chars().count()));
        if self.is_right { format!("{blank}{text}") } else { format!("{text}{blank}") }
    }
}

fn width_of(column: &Column, at: usize, cells: &[Vec<String>]) -> usize {
    let texts =
        [column.title.as_str(), column.unit.as_str()].into_iter().chain(cells.iter().filter_map(|row| row.get(at).map(String::as_str)));
    texts.map(|text| text.chars().count()).max().unwrap_or(0)
}

/// Breaks a text at blanks into lines of at most `width` characters; a longer word is broken where it must.
fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    let mut used = 0;
    for word in text.split_whitespace() {
        let mut word: Vec<char> = word.chars().collect();
        if used > 0 && used + 1 + word.len() > width {
            lines.push(std::mem::take(&mut line));
            used = 0;
        }
        while word.len() > width {
            let rest = word.split_off(width);
            lines.push(word.iter().collect());
            word = rest;
        }
        if used > 0 {
            line.push(' ');
            used += 1;
        }
        used += word.len();
        line.extend(word);
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}
