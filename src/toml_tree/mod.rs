//! A TOML text as tables of values, each with the row that it stands in: what the plan file and the rulebook are read from.

mod parse;
mod value;

pub use parse::{Stumble, join, parse};
pub use value::{Item, Number, Tree, Value};
