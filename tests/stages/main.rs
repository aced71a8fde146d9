//! Each stage through its front door, on small values made here.

#![allow(
    clippy::too_many_lines,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on fails"
)]

mod made_settings;

mod amendment_amounts;
mod brackets;
mod caps;
mod caps_of_parts;
mod choice;
mod cores_across;
mod deliver;
mod diagnosis;
mod field;
mod intake;
mod keep_outs;
mod lone_cores;
mod made_fields;
mod made_surveys;
mod made_threads;
mod made_zone_fields;
mod made_zones;
mod mix_edges;
mod money_over_time;
mod nutrients;
mod orders_and_states;
mod own_cores;
mod own_trials;
mod plan;
mod random_zones;
mod rates;
mod rates_properties;
mod redrawing;
mod rulebook;
mod rulebook_mutations;
mod salt;
mod sampling;
mod season;
mod season_feeds;
mod season_mutations;
mod shed_properties;
mod skewed_layers;
mod soil_edges;
mod soil_ranges;
mod surface;
mod trace_and_excess;
mod true_reasons;
mod unknown_factors;
mod what_the_bill_holds;
mod wrong_before;
mod zones;
