//! Outside checks: our numbers against published tables, standards and general-purpose reference libraries.
//! Each module names its source; data lie beside it with their licence.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on fails"
)]

#[path = "../stages/made_settings.rs"]
mod made_settings;

mod clustering;
mod field_geometry;
mod interpolation;
mod season;
mod soil_science;
mod trial;
mod units;
