//! The engine as another program calls it: named bytes in, named bytes out, no disk of its own.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on fails"
)]

mod across_180;
mod damaged;
mod drawn_places;
mod files;
mod hidden_ground;
#[path = "../stages/made_threads.rs"]
mod made_threads;
mod many_readings;
mod past;
mod prices;
mod quarters;
mod run;
mod session;
mod slips;
#[allow(
    dead_code,
    reason = "the desk writes its files, the engine takes them from memory"
)]
#[path = "../desk/small_field.rs"]
mod small_field;
