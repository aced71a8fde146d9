//! Tests that were asked for by mutants which all other tests let pass; see docs/mutation-testing.md.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    dead_code,
    reason = "a test that cannot go on fails; the made fields are shared with tests/stages"
)]

#[path = "../stages/made_settings.rs"]
mod made_settings;
#[path = "../stages/made_zones.rs"]
mod made_zones;

#[path = "../stages/made_surveys.rs"]
mod made_surveys;

mod asked_for;
mod ceilings;
mod diagnosis;
mod edges;
mod ground;
mod limits;
mod money;
mod needs;
mod orders;
mod program;
mod rates;
mod rates_and_soil;
mod strips;
