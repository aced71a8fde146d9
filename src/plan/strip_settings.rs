//! The check strips of a plan, checked.

use std::path::PathBuf;

use serde::Serialize;

use super::fixed_or_auto::FixedOrAuto;
use super::result_settings::YieldRole;
use crate::provenance::Place;
use crate::units::ProductRate;
use crate::units::{Length, METRES_PER_FOOT};

/// Shortest strip: 300 ft have worked (published on-farm trials; see docs/how-a-verdict-is-reached.md).
pub const SHORTEST: Length = Length::from_metres(300.0 * METRES_PER_FOOT);
/// Position error of a machine steered by satellite with a correction: 1 ft. Common practice.
pub const POSITION_ERROR: Length = Length::from_metres(METRES_PER_FOOT);
/// Seed of the draw; any number does.
pub const SEED: u64 = 1;
/// The check strips that a plan asks for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StripSettings {
    /// What is done on them; one set of strips for each.
    pub treatments: Vec<StripTreatment>,
    /// How many strips of each treatment.
    pub count: FixedOrAuto<usize>,
    /// The smallest difference in yield that would change a decision, kg/ha.
    pub worth: Option<f64>,
    /// Shortest strip.
    pub length: Length,
    /// Width of the combine's header; the planter's swath where the plan does not say it.
    pub header: Option<Length>,
    /// How far planter and combine may be off their lines.
    pub position_error: Length,
    /// Standard deviation of the difference between a strip and its sides, kg/ha: a guess of the user's.
    pub spread: Option<f64>,
    /// An earlier harvest of the same crop that tells it.
    pub earlier_harvest: Option<EarlierYield>,
    /// Passes of the planter, counted from 1 at the left edge, that no strip may touch: wheel lanes, tile lines.
    pub avoid_passes: Vec<usize>,
    /// Seed of the draw.
    pub seed: u64,
    /// Where in the plan file this stands.
    pub place: Place,
}

impl StripSettings {
    /// Strips of one treatment with nothing else said.
    #[must_use]
    pub fn usual(treatment: StripTreatment, count: FixedOrAuto<usize>) -> Self {
        let place = treatment.place.clone();
        Self {
            treatments: vec![treatment],
            count,
            worth: None,
            length: SHORTEST,
            header: None,
            position_error: POSITION_ERROR,
            spread: None,
            earlier_harvest: None,
            avoid_passes: Vec::new(),
            seed: SEED,
            place,
        }
    }
}

/// A harvest of an earlier year.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EarlierYield {
    /// The file.
    pub file: PathBuf,
    /// Columns: name, what it is, unit.
    pub columns: Vec<(String, YieldRole, Option<String>)>,
}

/// What is done on a set of strips.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StripTreatment {
    /// What it is called.
    pub name: String,
    /// Rates by product name (`None`: nothing); all other products go on as the zone has them.
    pub rates: Vec<(String, Option<ProductRate>)>,
    /// Numbers of the zones in which it is tried; all that it changes where the plan names none.
    pub zones: Vec<u32>,
    /// Whether it is tried only where it changes the rates of all its products.
    pub is_joint: bool,
    /// Where in the plan file this stands.
    pub place: Place,
}
