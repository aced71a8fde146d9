//! Tables of text: comma, semicolon, tab or bar between the cells, in any encoding.

mod encoding;
mod pieces;
mod rows;

pub(in crate::intake) use encoding::{Unmarked, text_of};
pub(in crate::intake) use pieces::{Batch, Batches, LONG_FILE, Piece};
pub(in crate::intake) use rows::{Dialect, Row, RowError, RowReader};
