//! Stage 8: everything becomes files. Each format turns values into bytes; one place writes them, complete or not at all.

mod case;

pub use case::Case;
