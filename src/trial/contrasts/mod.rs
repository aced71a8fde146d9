//! Clean yield points become lines of segments, and each line is compared with its two sides.

mod ground;
mod lines;
mod table;

pub use ground::{Ground, TRIM};
pub use lines::{Cut, Line, SEGMENT, lines};
pub use table::{Position, Segment, Table};
