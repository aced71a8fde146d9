//! The thresholds in force, each with method, depth, unit, basis and source; and the products, recipe and crops.
//!
//! `built_in.toml` is embedded in the program; the user's file is laid over it key by key. No threshold is a bare
//! number in the code: code asks the rulebook.

mod factor;

pub use factor::{Basis, Factor, Side};
