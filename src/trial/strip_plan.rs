//! Check strips as they are laid into a prescription, and what is known of them beforehand. It goes into `run.json`, so that nothing can be moved
//! after the harvest.

use serde::{Deserialize, Serialize};

use super::layout::{Draw, Run};
use super::machines::Machines;
use crate::rates::StripRates;
use crate::units::MoneyPerArea;
use crate::units::{Metering, ProductRate};

/// All check strips of a prescription.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct StripPlan {
    /// One set for each treatment.
    pub sets: Vec<StripSet>,
}

/// The strips of one treatment, with the ground on which the verdict rests.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StripSet {
    /// What the treatment is called: `no starter`.
    pub treatment: String,
    /// Products that have another rate on these strips.
    pub products: Vec<String>,
    /// Whether the strips get more than the zone (a product tried where the zone gets none) rather than less.
    pub gets_more: bool,
    /// Planter and combine.
    pub machines: Machines,
    /// Shortest strip, metres.
    pub shortest_m: f64,
    /// Seed, blocks, checks and where they could have lain.
    pub draw: Draw,
    /// For every position, stretches of any zone as long as these checks: passes there show what chance does.
    #[serde(default)]
    pub elsewhere: Vec<Vec<Run>>,
    /// The rates that differ, zone by zone.
    #[serde(default)]
    pub rates: Vec<PlannedRate>,
    /// Where the scatter comes from on which it rests what can be seen.
    #[serde(default)]
    pub scatter: ScatterSource,
    /// What can be seen in each zone, by number of the zone.
    pub zones: Vec<ZoneOutlook>,
    /// The strips.
    pub strips: Vec<Strip>,
}

/// Who says how much neighbouring passes differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ScatterSource {
    /// Nobody: it is the rulebook's guess.
    #[default]
    Guess,
    /// The plan.
    Plan,
    /// An earlier harvest of the field.
    Harvest,
}

/// What a zone gets of a product, and its strips.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlannedRate {
    /// Number of the zone.
    pub zone: u32,
    /// Name of the product.
    pub product: String,
    /// How it is metered.
    pub form: Metering,
    /// Rate in the zone, kg/ha or L/ha.
    pub in_zone: f64,
    /// Rate on its strips, in the same unit.
    pub on_strips: f64,
}

/// One strip: the piece of a check that lies in one zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Strip {
    /// Name of the check, the same in each zone that it crosses: `no starter 1`.
    pub name: String,
    /// Number of the zone.
    pub zone: u32,
    /// Area, m².
    pub area_m2: f64,
    /// Length, metres.
    pub length_m: f64,
    /// Rates on the strip, in the order of the prescription's products.
    #[serde(skip)]
    pub rates: Vec<ProductRate>,
    /// What a product less or more changes in the cost of products.
    #[serde(skip)]
    pub cost_change: MoneyPerArea,
    /// Outline on the field's plane, metres, in the same order.
    #[serde(skip)]
    pub on_plane: Vec<(f64, f64)>,
    /// Outline in degrees (longitude, latitude), counter-clockwise, without a repeated last place.
    pub outline: Vec<(f64, f64)>,
}

impl Strip {
    /// The name of the strips of a treatment's check, by its position among the checks.
    #[must_use]
    pub fn name_of(treatment: &str, at: usize) -> String {
        format!("{treatment} {}", at + 1)
    }
}

/// What the checks can show in a zone, said before seeding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ZoneOutlook {
    /// Number of the zone.
    pub zone: u32,
    /// Its area, m²: its weight in the whole field's gain.
    pub area_m2: f64,
    /// How many checks cross it.
    pub checks: usize,
    /// Their length in it together, metres.
    pub metres: f64,
    /// Why it cannot be judged; `None` where it can.
    pub not_judged: Option<String>,
    /// The least difference that they can show, kg/ha; `None` where the spread is not known.
    pub shows: Option<f64>,
    /// The gain that pays for what the strips leave out or try, kg/ha; `None` without the price of the crop.
    pub pays_from: Option<f64>,
    /// The gain that is wanted, kg/ha: what the plan says is worth seeing, else the gain that pays.
    pub wanted: Option<f64>,
    /// How many checks would show the gain that is wanted.
    pub needed: Option<usize>,
    /// What the checks may cost at that gain, United States dollars.
    pub cost: Option<f64>,
}

impl StripPlan {
    /// The strips with their rates, for the totals.
    #[must_use]
    pub fn rates(&self) -> Vec<StripRates<'_>> {
        self.strips()
            .map(|strip| StripRates {
                zone: strip.zone,
                hectares: strip.area_m2 / 10_000.0,
                rates: &strip.rates,
            })
            .collect()
    }

    /// All strips of all sets.
    pub fn strips(&self) -> impl Iterator<Item = &Strip> {
        self.sets.iter().flat_map(|set| &set.strips)
    }
}
