//! Points of a yield monitor: what was harvested where, and which of them can be believed.

mod cell_index;
mod cleaning;
mod column_units;
mod dry_yield;
mod lag;
mod local;
mod outliers;
mod passes;
mod point;
mod records;

pub use cleaning::{CleanPoint, Cleaned, Fate, clean};
pub use column_units::HarvestContext;
pub use dry_yield::{STANDARD_MOISTURE, at_standard_moisture, from_flow, standard_moisture};
pub use lag::{LONGEST_LAG, Lag};
pub use passes::split as split_into_passes;
pub use point::YieldPoint;
pub use records::{middle_width, records};
