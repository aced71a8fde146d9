//! Where the checks go: passes, blocks and the draw.

mod runs;

pub use runs::{Run, inside, inside_over, shared};
