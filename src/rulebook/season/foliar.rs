//! Leaf feeds: what is fed, how much, in how much water, and where it is not.

use crate::rulebook::reader::Entry;
use crate::rulebook::{Basis, Factor};
use crate::units::{MassPerArea, VolumePerArea};

/// A leaf feed of one nutrient.
#[derive(Debug, Clone)]
pub struct FoliarRule {
    /// Name in the rulebook.
    pub name: String,
    /// The shortage that it answers.
    pub factor: Factor,
    /// The product.
    pub product: String,
    /// The crops that it is for.
    pub crops: Vec<String>,
    /// The nutrient of one feed.
    pub rate: MassPerArea,
    /// The nutrient of all feeds of a season.
    pub season_most: MassPerArea,
    /// Most feeds of it in a season.
    pub feeds: usize,
    /// Water of one feed.
    pub water: VolumePerArea,
    /// Most product in the spray, grams in 100 mL.
    pub spray_most: f64,
    /// Place in the order of addition.
    pub order: f64,
    /// Its place in the season, rising; feeds of one place may share a tank.
    pub window: f64,
    /// Day after planting past which its stage is over; `None` of crops that are not planted each season.
    pub last_day: Option<f64>,
    /// The growth stage of the first feed.
    pub stage: String,
    /// What research found, one or two sentences, printed beside the rate.
    pub response: String,
    /// Crops on which it is discouraged.
    pub not_for: Option<NotForCrops>,
    /// What the rate rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

/// Crops on which a feed is discouraged.
#[derive(Debug, Clone)]
pub struct NotForCrops {
    /// Their names.
    pub crops: Vec<String>,
    /// Why.
    pub why: String,
}

/// The most salt in the spray.
#[derive(Debug, Clone)]
pub struct LeafSalt {
    /// The crop, or `usual`.
    pub crop: String,
    /// Grams in 100 mL.
    pub most: f64,
    /// What it rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

impl LeafSalt {
    /// The entry of crops that have none of their own.
    pub const USUAL: &'static str = "usual";

    pub(in crate::rulebook) fn read(entry: &mut Entry<'_>) -> Self {
        Self {
            crop: entry.name.to_owned(),
            most: entry.required_in(
                "most",
                "write grams in 100 mL of spray",
                0.01..=20.0,
                "0.01 to 20",
            ),
            basis: entry.basis("basis"),
            source: entry.text("source", "say whose limit it is"),
        }
    }
}

/// A shortage that the leaf cannot fill.
#[derive(Debug, Clone)]
pub struct NoLeafFeed {
    /// Key of the factor.
    pub factor: String,
    /// Why not.
    pub why: String,
    /// What that rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

impl NoLeafFeed {
    pub(in crate::rulebook) fn read(entry: &mut Entry<'_>) -> Self {
        Self {
            factor: entry.name.to_owned(),
            why: entry.text("why", "say why the leaf cannot fill it"),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        }
    }
}

/// A caution of every leaf feed.
#[derive(Debug, Clone)]
pub struct LeafCaution {
    /// Name in the rulebook.
    pub name: String,
    /// The caution.
    pub what: String,
    /// What it rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

impl LeafCaution {
    pub(in crate::rulebook) fn read(entry: &mut Entry<'_>) -> Self {
        Self {
            name: entry.name.to_owned(),
            what: entry.text("what", "write the caution"),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        }
    }
}

impl FoliarRule {
    pub(in crate::rulebook) fn read(entry: &mut Entry<'_>) -> Self {
        let rule = Self {
            name: entry.name.to_owned(),
            factor: entry.word(
                "factor",
                &Factor::ALL.map(|factor| (factor.key(), factor)),
                None,
            ),
            product: entry.text("product", "name the product of the rulebook"),
            crops: entry.texts("crops"),
            rate: entry.quantity(
                "rate",
                "write the nutrient of a feed, such as \"0.25 lb/ac\"",
            ),
            season_most: entry.quantity("season_most", "write the nutrient of a season"),
            feeds: entry.required_in("feeds", "write how many feeds", 1.0..=10.0, "1 to 10")
                as usize,
            water: entry.quantity("water", "write the water of a feed, such as \"20 gal/ac\""),
            spray_most: entry.required_in(
                "spray_most",
                "write the most product in the spray, grams in 100 mL",
                0.01..=20.0,
                "0.01 to 20",
            ),
            order: entry.number("order", "write its place in the order of addition"),
            window: entry.number("window", "write its place in the season: 1 early, 2, 3"),
            last_day: entry.maybe_number("last_day"),
            stage: entry.text("stage", "write the growth stage of the first feed"),
            response: entry.text("response", "say what research found"),
            not_for: entry.table("not_for", |entry| NotForCrops {
                crops: entry.texts("crops"),
                why: entry.text("why", "say why"),
            }),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        };
        if rule.rate > rule.season_most {
            entry.contradiction("season_most", "one feed is more than the most of a season");
        }
        if rule.water <= VolumePerArea::ZERO {
            entry.contradiction("water", "a leaf feed needs water");
        }
        rule
    }
}
