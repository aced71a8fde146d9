//! The desk over HTTP, as a browser and as somebody who means harm ask it.

#![cfg(all(feature = "cli", feature = "desk"))]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on fails"
)]
#![allow(clippy::print_stdout, reason = "a tool that is not installed is named")]

mod attacks;
mod begin;
mod browser;
mod drawn_place;
mod edges;
mod farm;
mod farm_browser;
mod many;
mod plan_is_whole;
mod program;
mod schemas;
mod season;
mod small_field;
mod take;
mod two_windows;
mod what_if;
