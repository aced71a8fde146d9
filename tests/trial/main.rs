//! Check strips: made fields with a known truth, from points to verdict.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on fails"
)]

mod cleaning;
mod judging;
mod laying;
mod made_field;
mod simulation;
