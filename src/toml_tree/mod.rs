//! A TOML text as tables of values, each with the row that it stands in: what the plan file and the rulebook are read from.

mod built_in;
mod parse;
mod value;

pub use built_in::built_in;
pub use parse::{Stumble, join, parse};
pub use value::{Item, Number, Tree, Value};
