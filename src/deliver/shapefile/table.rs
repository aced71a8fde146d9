//! `.dbf`: a dBase III table of numbers (`N`) and texts (`C`), without nulls.

use std::io::Cursor;

use dbase::{FieldError, FieldName, FieldWriter, TableWriterBuilder, UnicodeLossy, WritableRecord};

use crate::deliver::escape::cut;
use crate::text::one_line;

/// Where the header holds year, month and day of the last change.
const DATE: std::ops::Range<usize> = 1..4;
/// Where the header holds the code page; blank, because the `.cpg` file names it and readers disagree on a mark for UTF-8.
const CODE_PAGE: usize = 29;

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

    /// The largest number that its width shows.
    fn largest(&self) -> f64 {
        10_f64.powi(i32::from(self.width)) - 1.0
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

/// A row beside the columns it stands in.
struct Row<'a>(&'a [Field], &'a [Cell]);

impl WritableRecord for Row<'_> {
    fn write_using<W: std::io::Write>(
        &self,
        writer: &mut FieldWriter<'_, W>,
    ) -> Result<(), FieldError> {
        let Self(fields, cells) = self;
        for (field, cell) in fields.iter().zip(*cells) {
            match cell {
                Cell::Number(number) => {
                    // `+ 0.0` turns -0 into 0. A number too long for its width loses decimals, never digits.
                    let shown = number.clamp(-field.largest(), field.largest()) + 0.0;
                    writer.write_next_field_value(&shown)?;
                }
                Cell::Text(text) => {
                    let plain = one_line(text);
                    let shown = cut(&plain, usize::from(field.width));
                    writer.write_next_field_value(&shown)?;
                }
            }
        }
        Ok(())
    }
}

/// The table's bytes. `year` stands in the header as the day of the last change, so that the same table has the same bytes every day.
///
/// # Errors
/// Where a column's name is longer than the format allows.
pub fn table(fields: &[Field], rows: &[Vec<Cell>], year: u16) -> Result<Vec<u8>, String> {
    let mut builder = TableWriterBuilder::with_encoding(UnicodeLossy);
    for field in fields {
        let name = FieldName::try_from(field.name.as_str())?;
        builder = match field.decimals {
            Some(decimals) => builder.add_numeric_field(name, field.width, decimals),
            None => builder.add_character_field(name, field.width),
        };
    }
    let mut target = Cursor::new(Vec::new());
    let mut writer = builder.build_with_dest(&mut target);
    let failed = |cause: dbase::Error| cause.to_string();
    for row in rows {
        writer.write_record(&Row(fields, row)).map_err(failed)?;
    }
    writer.finalize().map_err(failed)?;
    drop(writer);
    let mut bytes = target.into_inner();
    if let Some(date) = bytes.get_mut(DATE) {
        // The writer puts today's date there.
        date.copy_from_slice(&[(year.saturating_sub(1900)).min(255) as u8, 1, 1]);
    }
    if let Some(mark) = bytes.get_mut(CODE_PAGE) {
        *mark = 0;
    }
    Ok(bytes)
}
