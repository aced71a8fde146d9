//! Stage 6: each zone's profile is held against the rulebook. Every finding carries value, spread, threshold, source,
//! severity and confidence, so that a reader can redo it by hand.

mod findings;

pub use findings::{Diagnosis, Finding, LayerSummary, Outcome, ZoneDiagnosis};
