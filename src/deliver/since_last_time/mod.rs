//! The sheet "Since last time": what became of each zone since an earlier season, in words, as a page and as a picture.

mod factor_words;
mod facts;
mod markup;
mod picture;
mod product_words;
mod text;

pub use facts::SinceFacts;
pub use markup::since_chapter;
pub use text::{push_details, push_short};

/// The heading of the sheet.
pub const SINCE: &str = "Since last time";
