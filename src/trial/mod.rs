//! Check strips out, results in: strips laid into a prescription, and what they say afterwards.

pub mod contrasts;
mod frame;
pub mod harvest;
pub mod layout;
mod machines;
pub mod statistics;
pub mod verdict;

pub use frame::Frame;
pub use machines::{LEAST_BORDER, Machines};
