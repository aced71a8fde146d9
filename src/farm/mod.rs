//! Every field of a farm in one go: fields side by side, one bill, one card, and tables of zones and fields.

mod chunk;
mod column;
mod error;
mod facts;
mod farm_record;
mod field_name;
mod field_row;
mod field_table;
mod field_work;
mod fields;
mod join;
mod memory;
mod out_folder;
mod overlay;
mod own_files;
#[cfg(feature = "geoparquet")]
mod parquet_rows;
#[cfg(feature = "geoparquet")]
mod parquet_table;
mod part;
mod patterns;
mod pool;
mod problem;
mod problem_table;
mod publish;
mod record;
mod recorded;
mod second_pass;
mod share;
mod tables;
mod work;

pub use column::Column;
pub use error::FarmError;
pub use facts::{FarmFacts, StockAmount};
pub use field_row::{FieldRow, PieceRow};
pub use field_work::FieldFiles;
pub use fields::{FARM_FILE, Farm, FarmField, OpenField};
pub use join::{FarmResult, join};
pub use out_folder::{Manifest, begun};
pub use part::Part;
pub use pool::side_by_side;
pub use problem::Problem;
pub use record::FieldRecord;
pub use second_pass::JoinOptions;
pub use share::{MoneyShare, share_money, share_stock};
pub use tables::{GEO, ZoneTable};
pub use work::{FarmOptions, FarmWatch, Worked, work};
