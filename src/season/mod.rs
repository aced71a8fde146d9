//! Stage 10, after emergence: stand counts, emergence and leaf-sap Brix by zone and strip of an earlier run, and the leaf feeds of the season.
//!
//! ```text
//! rows of files -> readings (with zone and strip) -> stand, emergence, brix, tissue -> foliar
//! ```
//!
//! Nothing is claimed that is smaller than its error; what is not known is said to be not known, with what would tell.

mod brix;
mod brix_compare;
mod calendar;
mod context;
mod dose;
mod emergence;
mod error;
mod foliar;
mod foliar_plan;
mod ground;
mod measures;
mod readings;
mod rows;
mod shortage;
mod stand;
mod tanks;
mod tissue;

pub use brix::{BRIX_NOTE, BrixRound};
pub use brix_compare::{BrixComparison, BrixFinding, BrixResult, BrixTrend};
pub use context::{SeasonContext, SeasonSettings, SoilShort, ZoneRecord};
pub use emergence::EmergenceResult;
pub use error::SeasonError;
pub use foliar_plan::{FeedProduct, FoliarPlan, LeafFeed, NotFed, Unfed, ZoneWhy};
pub use ground::{SeasonGround, Spot, StripGround, ZoneGround};
pub use readings::{BrixReading, EmergencePlace, Readings, StandCount, TissueSample, WeatherDay};
pub use stand::{StandKeeps, StandResult};
pub use tissue::TissueResult;

use serde::Serialize;

/// What the season's readings say, and what to feed.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct SeasonReview {
    /// Stands by zone, then by strip.
    pub stands: Vec<StandResult>,
    /// Emergence by zone, then by strip.
    pub emergence: Vec<EmergenceResult>,
    /// Brix.
    pub brix: BrixResult,
    /// Contents of leaves by zone.
    pub tissue: Vec<TissueResult>,
    /// The leaf feeds.
    pub foliar: FoliarPlan,
}

/// Holds the readings against the rulebook and plans the leaf feeds.
#[must_use]
pub fn review(readings: &Readings, context: &SeasonContext<'_>) -> SeasonReview {
    let calendar = calendar::Calendar::new(readings);
    let tissue = tissue::tissue(&readings.tissue, &calendar, context);
    SeasonReview {
        stands: stand::stands(&readings.stands, context),
        emergence: emergence::emergence(&readings.emergence, &readings.weather, context),
        brix: brix_compare::brix(&readings.brix, context),
        foliar: foliar::foliar(&tissue, context),
        tissue,
    }
}
