//! Check strips out, results in: strips laid into a prescription, and what they say afterwards.

pub mod applied;
pub mod contrasts;
mod earlier_harvest;
mod error;
mod frame;
pub mod harvest;
mod lay;
mod lay_remarks;
pub mod layout;
mod machines;
mod offer;
mod outlook;
pub mod statistics;
mod strip_plan;
mod treatment;
pub mod verdict;

pub use earlier_harvest::EarlierHarvest;
pub use error::TrialError;
pub use frame::Frame;
pub use lay::{Laid, LayingGround, lay, lay_asked};
pub use machines::{LEAST_BORDER, Machines};
pub use offer::offer;
pub use strip_plan::{PlannedRate, ScatterSource, Strip, StripPlan, StripSet, ZoneOutlook};
