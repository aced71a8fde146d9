//! `.dbf`: a dBase III table of numbers (`N`) and texts (`C`), without nulls.

use crate::deliver::escape::{cut, terminal};
use crate::units::fixed;

/// A column of the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Field {
    /// At most 10 ASCII capitals, digits and underscores.
    pub name: String,
    /// Width in bytes.
    pub width: u8,
    /// Decimals of a number; `None` for a text.
    pub decimals: Option<u8>,
}

impl Field {
    /// A number with so many decimals.
    #[must_use]
    pub fn number(name: &str, width: u8, decimals: u8) -> Self {
        Self {
            name: name.to_owned(),
            width,
            decimals: Some(decimals),
        }
    }

    /// A text of at most so many bytes.
    #[must_use]
    pub fn text(name: &str, width: u8) -> Self {
        Self {
            name: name.to_owned(),
            width,
            decimals: None,
        }
    }
}

/// A cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// For a number's column.
    Number(f64),
    /// For a text's column.
    Text(String),
}

/// The table's bytes. `year` stands in the header as the day of the last change, so that the same table has the same bytes every day.
#[must_use]
pub fn table(fields: &[Field], rows: &[Vec<Cell>], year: u16) -> Vec<u8> {
    let header_bytes = 32 + fields.len() * 32 + 1;
    let row_bytes = 1 + fields
        .iter()
        .map(|field| usize::from(field.width))
        .sum::<usize>();
    let mut out = Vec::with_capacity(header_bytes + rows.len() * row_bytes + 1);
    out.extend([0x03, (year.saturating_sub(1900)).min(255) as u8, 1, 1]);
    out.extend((rows.len() as u32).to_le_bytes());
    out.extend((header_bytes as u16).to_le_bytes());
    out.extend((row_bytes as u16).to_le_bytes());
    out.extend([0; 20]);
    for field in fields {
        push_field(&mut out, field);
    }
    out.push(0x0D);
    for row in rows {
        out.push(b' ');
        for (field, cell) in fields.iter().zip(row) {
            push_cell(&mut out, field, cell);
        }
    }
    out.push(0x1A);
    out
}

fn push_field(out: &mut Vec<u8>, field: &Field) {
    let mut name = [0; 11];
    for (byte, letter) in name.iter_mut().zip(field.name.bytes().take(10)) {
        *byte = letter;
    }
    out.extend(name);
    out.push(if field.decimals.is_some() { b'N' } else { b'C' });
    out.extend([0; 4]);
    out.extend([field.width, field.decimals.unwrap_or(0)]);
    out.extend([0; 14]);
}

fn push_cell(out: &mut Vec<u8>, field: &Field, cell: &Cell) {
    let width = usize::from(field.width);
    let text = match cell {
        Cell::Number(number) => fitted(*number, width, usize::from(field.decimals.unwrap_or(0))),
        Cell::Text(text) => terminal(text),
    };
    let text = cut(&text, width);
    let blanks = std::iter::repeat_n(b' ', width - text.len());
    match cell {
        Cell::Number(_) => out.extend(blanks.chain(text.bytes())),
        Cell::Text(_) => out.extend(text.bytes().chain(blanks)),
    }
}

/// A number in its width; decimals give way before digits do.
fn fitted(number: f64, width: usize, decimals: usize) -> String {
    let texts = (0..=decimals).rev().map(|decimals| fixed(number, decimals));
    texts
        .into_iter()
        .find(|text| text.len() <= width)
        .unwrap_or_else(|| "9".repeat(width))
}
