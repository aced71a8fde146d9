//! The program as a user runs it, on the samples and on bad input.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on fails"
)]

mod applied;
mod bad_input;
mod cores;
mod datasets;
mod developers_guide;
mod farm;
mod farm_bad_input;
mod farm_budget;
mod farm_check;
mod farm_interrupted;
mod farm_made;
mod farm_published;
mod farm_run;
mod farm_sheet;
mod farm_stock;
mod first_page;
mod follow;
mod follow_feeds;
mod golden_reports;
mod help;
mod hostile_ground;
mod interrupted;
mod leave_out;
mod main_job;
mod manual;
mod memory;
mod moved_zones;
mod past;
mod past_harm;
mod plan_file;
mod pooled;
mod program;
mod proj_database;
mod results;
mod rulebook;
mod schemas;
mod strips;
mod threads;
mod together;
mod words;
