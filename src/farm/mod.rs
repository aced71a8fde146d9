//! Every field of a farm in one go: fields side by side, one bill, one card, and tables of zones and fields.

mod error;
mod facts;
mod field_name;
mod field_table;
mod fields;
mod overlay;
#[cfg(feature = "geoparquet")]
mod parquet_rows;
mod patterns;
mod problem;

pub use error::FarmError;
pub use facts::{FarmFacts, StockAmount};
pub use fields::{FARM_FILE, Farm, FarmField, OpenField};
pub use problem::Problem;
