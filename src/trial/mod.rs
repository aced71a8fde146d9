//! Check strips out, results in: strips laid into a prescription, and what they say afterwards.

pub mod contrasts;
mod error;
mod frame;
pub mod harvest;
mod lay;
pub mod layout;
mod machines;
mod offer;
mod outlook;
pub mod statistics;
mod strip_plan;
mod treatment;
pub mod verdict;

pub use error::TrialError;
pub use frame::Frame;
pub use lay::{Laid, LayingGround, lay, lay_asked};
pub use machines::{LEAST_BORDER, Machines};
pub use offer::offer;
pub use strip_plan::{Strip, StripPlan, StripSet, ZoneOutlook};
