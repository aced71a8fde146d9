//! What the checks say: gain and interval in each zone, over the whole field, and between zones.

mod judge;
mod opinion;
mod report;

pub use judge::{
    CheckGain, Comparison, Elsewhere, Gain, NotJudged, Question, Verdict, WholeField,
    ZoneInQuestion, judge,
};
pub use opinion::SecondOpinion;
pub use report::{HarvestVerdict, JudgedSet, check_width, mark_treatments, verdict_of};
