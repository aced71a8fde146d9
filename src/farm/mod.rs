//! Every field of a farm in one go: fields side by side, one bill, one card, and tables of zones and fields.

mod facts;
mod problem;

pub use facts::{FarmFacts, StockAmount};
pub use problem::Problem;
