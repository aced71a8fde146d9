//! Limits in plant tissue.

use crate::rulebook::reader::Entry;
use crate::rulebook::{Basis, Factor};

/// The content under which a leaf is short of something.
#[derive(Debug, Clone)]
pub struct TissueRule {
    /// Name in the rulebook.
    pub name: String,
    /// The crop.
    pub crop: String,
    /// What it is short of.
    pub factor: Factor,
    /// The part of the plant that it holds for.
    pub part: String,
    /// Its place in the season, as that of a leaf feed: what is found later than a feed's is too late for it.
    pub window: f64,
    /// First and last day after planting on which leaves of that part are of the stage that the limit is for.
    pub days: (f64, f64),
    /// The content, in `unit`.
    pub below: f64,
    /// `%` or `ppm` of the dry matter.
    pub unit: &'static str,
    /// What it rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

impl TissueRule {
    pub(in crate::rulebook) fn read(entry: &mut Entry<'_>) -> Self {
        Self {
            name: entry.name.to_owned(),
            crop: entry.text("crop", "name the crop"),
            factor: entry.word(
                "factor",
                &Factor::ALL.map(|factor| (factor.key(), factor)),
                None,
            ),
            part: entry.text("part", "name the part of the plant, such as \"ear leaf\""),
            window: entry.number("window", "write its place in the season: 1 early, 2, 3"),
            days: (
                entry.number("days_from", "write the first day after planting"),
                entry.number("days_to", "write the last day after planting"),
            ),
            below: entry.required_in(
                "below",
                "write the content under which it is short",
                0.0..=100_000.0,
                "0 to 100000",
            ),
            unit: entry.word("unit", &[("%", "%"), ("ppm", "ppm")], None),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        }
    }
}
