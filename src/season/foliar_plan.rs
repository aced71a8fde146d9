//! The leaf feeds of a season as they come out: what, when, where, how much, and what is not fed and why.

use serde::Serialize;

use crate::rulebook::{Factor, PriceSource};
use crate::units::{MassPerArea, VolumePerArea};

/// All leaf feeds.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct FoliarPlan {
    /// The feeds, in the order of the season.
    pub feeds: Vec<LeafFeed>,
    /// What is not fed, by zone.
    pub not_fed: Vec<NotFed>,
    /// What more feeds than a season takes would have been.
    pub left_out: Vec<String>,
    /// What is not known, with the test that would tell.
    pub not_known: Vec<String>,
    /// Cautions of every feed.
    pub cautions: Vec<String>,
}

/// One feed: one tank, one day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeafFeed {
    /// Its number, from 1.
    pub number: usize,
    /// The growth stage, or how long after which feed.
    pub when: String,
    /// The feed that it repeats.
    pub repeats: Option<usize>,
    /// Numbers of the zones that get it.
    pub zones: Vec<u32>,
    /// Their area, m².
    pub area_m2: f64,
    /// Spray on the ground.
    pub spray: VolumePerArea,
    /// The products, in the order of addition.
    pub products: Vec<FeedProduct>,
    /// All salt in the spray, grams in 100 mL.
    pub salt_pct: f64,
    /// The most that it may be.
    pub salt_most_pct: f64,
    /// Whose limit that is.
    pub salt_source: String,
    /// Cost of the products, United States dollars a hectare; `None` where one has no price.
    pub cost_usd_ha: Option<f64>,
    /// Over all its zones, United States dollars.
    pub cost_usd: Option<f64>,
}

/// A product of a feed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FeedProduct {
    /// Its name in the rulebook.
    pub product: String,
    /// What people call it.
    pub label: String,
    /// The shortage that it answers.
    pub factor: Factor,
    /// The nutrient that it brings.
    pub nutrient: MassPerArea,
    /// The product.
    pub amount: MassPerArea,
    /// What the rulebook asks for before caps.
    pub wanted: MassPerArea,
    /// The product in the spray, grams in 100 mL.
    pub concentration_pct: f64,
    /// Over all zones, kilograms.
    pub total_kg: f64,
    /// Cost, United States dollars a hectare.
    pub cost_usd_ha: Option<f64>,
    /// Where its price comes from.
    #[serde(skip)]
    pub price_source: PriceSource,
    /// How the rate was reached.
    pub steps: Vec<String>,
    /// What cut it.
    pub note: Option<String>,
    /// Why: the findings, zone by zone.
    pub why: Vec<ZoneWhy>,
    /// What research found, said beside the rate.
    pub response: String,
    /// Where the rate comes from.
    pub source: String,
    /// What that rests on.
    pub basis: &'static str,
    /// Whether it is meant as an organic input; the certifier decides.
    pub is_organic_input: bool,
    /// Its cautions.
    pub cautions: Vec<String>,
    /// Place in the order of addition.
    #[serde(skip)]
    pub order: f64,
}

/// The finding of a zone that asks for a feed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(into = "String")]
pub struct ZoneWhy {
    /// Number of the zone.
    pub zone: u32,
    /// What was found there.
    pub finding: String,
}

impl ZoneWhy {
    /// "Zone 2: zinc in the leaf is short".
    #[must_use]
    pub fn line(&self) -> String {
        format!("Zone {}: {}", self.zone, self.finding)
    }
}

impl From<ZoneWhy> for String {
    fn from(why: ZoneWhy) -> Self {
        why.line()
    }
}

/// What keeps a feed from a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Unfed {
    /// Nothing that the leaf could fill is measured short.
    #[default]
    NothingShort,
    /// The leaf does not take it, or the crop has no rate of it.
    NotThroughLeaf,
    /// It was found after the stage of the feed.
    TooLate,
    /// Salt closes what carries salt.
    Salt,
    /// The sprayer puts out too little water.
    Water,
    /// Carbon closes the gate.
    Carbon,
    /// A cap leaves nothing of it.
    Capped,
    /// The season takes no more feeds.
    LeftOut,
}

/// A zone that does not get something.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NotFed {
    /// Number of the zone.
    pub zone: u32,
    /// What it is short of; `None` where no shortage that the leaf could fill is known.
    pub factor: Option<Factor>,
    /// The finding that says so.
    pub finding: Option<String>,
    /// Why it is not fed.
    pub why: String,
    /// The check strip that is offered.
    pub strip: Option<String>,
    /// The same as `why`, for those who sort by it.
    #[serde(skip)]
    pub cause: Unfed,
}
