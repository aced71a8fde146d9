//! What earlier seasons left behind, and what became of the field since: each factor then and now with its error, what was ordered and
//! applied, what the chemistry said it would do and what it did, and what the farm's own strips said.
//!
//! ```text
//! season.json, prescription.geojson, verdict.json of an earlier folder -> PastRun -> over today's ground (by area) -> SinceLastTime
//!                                                                            \-> own trials -> rulebook in force
//! this run -> SeasonRecord -> season.json, so that the next season can compare
//! ```

mod applied;
mod applied_inputs;
mod change;
mod days;
mod earlier_salt;
mod error;
mod factors;
mod ground;
mod inputs;
mod limits;
mod older_record;
mod outlines;
mod own_trials;
mod past_run;
mod past_verdict;
mod products;
mod season_record;
mod season_sources;
mod since;
mod today;
mod wire;

pub use applied::{AppliedPlaces, AppliedRate};
pub use applied_inputs::{EarlierApplied, earlier_applied};
pub use change::{Change, Sample, change};
pub use days::wrong_days;
pub use earlier_salt::earlier_salt;
pub use error::PastError;
pub use factors::{FactorSince, Finding};
pub use ground::Ground;
pub use inputs::InputRecord;
pub use limits::{Fate, LimitSince, StaveSince};
pub use own_trials::own_trials;
pub use past_run::PastRun;
pub use products::{ChemistrySince, ProductSince};
pub use season_record::{
    AimRecord, FactorRecord, KeyRecord, LayerRecord, MeanRecord, RateRecord, SEASON_FILE,
    SeasonRecord, TableRecord, ZoneRecord,
};
pub use season_sources::SeasonSources;
pub use since::{SinceLastTime, ZoneSince, since_last_time};
pub use today::Today;
