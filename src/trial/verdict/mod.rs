//! What the checks say: gain and interval in each zone, over the whole field, and between zones.

mod judge;
mod opinion;

pub use judge::{
    CheckGain, Comparison, Gain, NotJudged, Question, Verdict, WholeField, ZoneInQuestion, judge,
};
pub use opinion::SecondOpinion;
