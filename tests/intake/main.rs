//! The corpus of messy files: each folder of `corpus/` holds a plan and its files, all invented; the reading or the
//! errors that are expected stand in `snapshots/`. And properties that hold for every table.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on fails"
)]

mod containers;
mod corpus;
mod drafts;
mod headers;
mod long_tables;
mod mutations;
mod properties;
mod speed;
mod spoilt_containers;
