//! Published crop science of the season as pure functions: numbers in, numbers out, each with its source, units and range.
//!
//! | topic | file |
//! |---|---|
//! | stand counts, counts needed, yield of a stand | `stand.rs` |
//! | growing degree days | `degree_days.rs` |
//! | Brix and temperature | `brix.rs` |
//! | salt on the leaf | `spray.rs` |
//! | mean, spread and interval of a few numbers | `sample.rs` |
//!
//! No threshold and no table stands here; the rulebook holds them and they are handed in.

mod brix;
mod degree_days;
mod sample;
mod spray;
mod stand;

pub use brix::temperature_correction;
pub use degree_days::growing_degree_days;
pub use sample::{Difference, Sample, Slope, difference, sample, sample_with_spread, slope};
pub use spray::{concentration_pct, mass_for_concentration};
pub use stand::{
    counts_needed, counts_needed_normal, percent_of_curve, percent_of_table, plants_per_acre,
    plants_per_acre_in_hoop,
};
