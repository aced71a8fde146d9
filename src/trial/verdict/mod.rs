//! What the checks say: gain and interval in each zone, over the whole field, and between zones.

mod gain;
mod judge;
mod judged_set;
mod off_plan_remarks;
mod opinion;
mod report;
mod together;

pub use gain::{CheckGain, Gain, NotJudged, SecondOpinion};
pub use judge::{Comparison, Elsewhere, Question, Verdict, WholeField, ZoneInQuestion, judge};
pub use judged_set::JudgedSet;
pub use report::{HarvestVerdict, check_width, mark_treatments, verdict_of};
pub use together::{Together, together};
