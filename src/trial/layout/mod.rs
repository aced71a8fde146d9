//! Where the checks go: passes, stretches, blocks and the draw.

mod draw;
mod pieces;
mod runs;
mod sites;

pub use draw::{Check, Draw, FEWEST_CHECKS, Room, draw};
pub use pieces::{Lengths, with_trimmed_ends};
pub use runs::{Run, inside, inside_over, shared};
pub use sites::{passes_over, sites};
