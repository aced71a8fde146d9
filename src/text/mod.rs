//! Text as it is written: lines of at most 80 columns wrapped at words, tables that fit them, XML, and the right word
//! for a mistyped one.
//!
//! The reports, the fill sheet and the terminal share this one place, so that a line breaks alike everywhere.

mod capital;
mod listed;
mod page;
mod spelling;
mod table;
mod wrap;
mod xml;

pub use capital::capital;
pub use listed::listed;
pub use page::Page;
pub use spelling::{nearest, nearest_within, shorten};
pub use table::{Column, table_lines};
pub use wrap::{WIDTH, is_unprintable, markup_line, one_line, wrap};
pub use xml::Element;
