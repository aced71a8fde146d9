//! Text as it is written: lines of at most 80 columns wrapped at words, tables that fit them, and XML.
//!
//! The reports, the fill sheet and the terminal share this one place, so that a line breaks alike everywhere.

mod page;
mod table;
mod wrap;
mod xml;

pub use page::Page;
pub use table::{Column, table_lines};
pub use wrap::{WIDTH, is_unprintable, one_line, wrap};
pub use xml::Element;
