//! What a log of the planter or spreader says went out, beside what was planned.

mod compare;
mod log;

pub use compare::{OffPlan, off_plan};
pub use log::{AppliedLog, applied_log};
