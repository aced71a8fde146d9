//! Tables on a page of 80 columns: long heads and texts are broken into lines, and what still does not fit follows below.

use super::wrap::{WIDTH, one_line, wrap};

const GAP: usize = 2;
/// A column of texts is not made narrower than this.
const NARROWEST_TEXT: usize = 14;
/// The head of a column of numbers is broken where it is longer than this and than its numbers.
const LONGEST_HEAD: usize = 10;

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
        Self {
            title: one_line(title),
            unit: String::new(),
            is_right: false,
        }
    }

    /// Numbers, set to the right, with their unit below the title.
    #[must_use]
    pub fn number(title: &str, unit: &str) -> Self {
        Self {
            title: one_line(title),
            unit: one_line(unit),
            is_right: true,
        }
    }

    /// The width that shows the cells, the unit, and the title, which may be broken, in full.
    fn width(&self, at: usize, cells: &[Vec<String>]) -> usize {
        let longest_word = self.title.split_whitespace().map(length).max().unwrap_or(0);
        let title = if self.is_right {
            length(&self.title).min(longest_word.max(LONGEST_HEAD))
        } else {
            length(&self.title)
        };
        let texts = cells
            .iter()
            .filter_map(|row| row.get(at))
            .chain([&self.unit]);
        texts.map(length).chain([title]).max().unwrap_or(0)
    }
}

fn length(text: impl AsRef<str>) -> usize {
    text.as_ref().chars().count()
}

/// The lines of a table. Columns that do not fit beside each other follow below, with the first column repeated.
#[must_use]
pub fn table_lines(columns: &[Column], rows: &[Vec<String>]) -> Vec<String> {
    let cells: Vec<Vec<String>> = rows
        .iter()
        .map(|row| row.iter().map(|cell| one_line(cell)).collect())
        .collect();
    let widths = widths(columns, &cells);
    let mut lines = Vec::new();
    let mut from = 1.min(columns.len());
    while from < columns.len() {
        let mut room = WIDTH.saturating_sub(widths[0]);
        let mut to = from;
        while to < columns.len() && (widths[to] + GAP <= room || to == from) {
            room = room.saturating_sub(widths[to] + GAP);
            to += 1;
        }
        let shown: Vec<usize> = std::iter::once(0).chain(from..to).collect();
        push_part(&mut lines, &shown, columns, &widths, &cells);
        if to < columns.len() {
            lines.push(String::new());
        }
        from = to;
    }
    lines
}

/// Widths that fit the page where columns of texts can give way.
fn widths(columns: &[Column], cells: &[Vec<String>]) -> Vec<usize> {
    let mut widths: Vec<usize> = columns
        .iter()
        .enumerate()
        .map(|(at, column)| column.width(at, cells).min(WIDTH / 2))
        .collect();
    let gaps = GAP * columns.len().saturating_sub(1);
    let mut over = (widths.iter().sum::<usize>() + gaps).saturating_sub(WIDTH);
    while over > 0 {
        let texts =
            (0..columns.len()).filter(|&at| !columns[at].is_right && widths[at] > NARROWEST_TEXT);
        let Some(widest) = texts.max_by_key(|&at| (widths[at], std::cmp::Reverse(at))) else {
            break;
        };
        widths[widest] -= 1;
        over -= 1;
    }
    widths
}

fn push_part(
    lines: &mut Vec<String>,
    shown: &[usize],
    columns: &[Column],
    widths: &[usize],
    cells: &[Vec<String>],
) {
    let heads: Vec<Vec<String>> = shown
        .iter()
        .map(|&at| {
            let unit = Some(columns[at].unit.clone()).filter(|unit| !unit.is_empty());
            wrap(&columns[at].title, widths[at])
                .into_iter()
                .chain(unit)
                .collect()
        })
        .collect();
    push_row(lines, shown, columns, widths, &heads);
    let total: usize = shown.iter().map(|&at| widths[at]).sum::<usize>() + GAP * (shown.len() - 1);
    lines.push("-".repeat(total.min(WIDTH)));
    for row in cells {
        let texts: Vec<Vec<String>> = shown
            .iter()
            .map(|&at| wrap(row.get(at).map_or("", String::as_str), widths[at]))
            .collect();
        push_row(lines, shown, columns, widths, &texts);
    }
}

/// One row, as many lines high as its highest cell.
fn push_row(
    lines: &mut Vec<String>,
    shown: &[usize],
    columns: &[Column],
    widths: &[usize],
    texts: &[Vec<String>],
) {
    let height = texts.iter().map(Vec::len).max().unwrap_or(0);
    for line in 0..height {
        let parts = shown.iter().zip(texts).map(|(&at, cell)| {
            let text = cell.get(line).map_or("", String::as_str);
            let blank = " ".repeat(widths[at].saturating_sub(length(text)));
            if columns[at].is_right {
                format!("{blank}{text}")
            } else {
                format!("{text}{blank}")
            }
        });
        lines.push(
            parts
                .collect::<Vec<_>>()
                .join(&" ".repeat(GAP))
                .trim_end()
                .to_owned(),
        );
    }
}
