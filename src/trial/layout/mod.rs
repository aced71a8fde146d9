//! Where the checks go: passes, stretches, blocks and the draw.

mod draw;
mod pieces;
mod rings;
mod runs;
mod sites;

pub use draw::{Check, Draw, FEWEST_CHECKS, Room, draw};
pub use pieces::{Lengths, with_trimmed_ends};
pub use rings::Rings;
pub use runs::{Run, shared};
pub use sites::{passes_over, sites};
