//! What the reports say, before it is laid out: the same facts in the same order for text, HTML and `explain`.
//! Every number is a text here already, in the units that the plan asks for.

mod field;
mod fixes;
mod maps;
mod numbers;
mod sources;
mod zone;

use serde::{Deserialize, Serialize};

pub use field::{ActionTable, FieldFacts};
pub use maps::{CountFacts, MapFacts};
pub use numbers::{grouped, layer_number, layer_unit, with_unit};
pub use zone::{FindingFacts, FixFacts, ProfileFacts, RateFacts, ZoneReview};

use super::overview::Overview;
use crate::remark::{Level, Remark};

/// All that the reports say.
#[derive(Debug, Clone)]
pub struct Review {
    /// Field, area, files, cost.
    pub field: FieldFacts,
    /// What goes where, one row per zone.
    pub actions: ActionTable,
    /// Remarks that somebody should look at.
    pub looks: Vec<RemarkFacts>,
    /// Guesses and notes.
    pub other_remarks: Vec<RemarkFacts>,
    /// The zones, by rising number.
    pub zones: Vec<ZoneReview>,
    /// The maps and how good they are.
    pub maps: Vec<MapFacts>,
    /// The zone counts that were tried.
    pub counts: CountFacts,
    /// Cautions of the whole prescription, then of products.
    pub cautions: Vec<String>,
    /// Rules that research disputes, one line each.
    pub disputed: Vec<String>,
    /// Sources of the thresholds and limits that were used.
    pub sources: Vec<String>,
}

/// A remark in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RemarkFacts {
    /// `look`, `guess` or `note`.
    pub level: String,
    /// Where, what, and the way out.
    pub text: String,
}

impl Review {
    /// Puts the facts into words.
    #[must_use]
    pub fn new(overview: &Overview<'_>) -> Self {
        let (looks, others): (Vec<&Remark>, Vec<&Remark>) = overview.case.remarks.iter().partition(|remark| remark.level == Level::Look);
        Self {
            field: FieldFacts::new(overview),
            actions: ActionTable::new(overview),
            looks: looks.into_iter().map(remark_facts).collect(),
            other_remarks: others.into_iter().map(remark_facts).collect(),
            zones: (0..overview.zones.len()).map(|place| ZoneReview::new(overview, place)).collect(),
            maps: maps::maps(overview),
            counts: CountFacts::new(overview),
            cautions: cautions(overview),
            disputed: sources::disputed(overview),
            sources: sources::sources(overview),
        }
    }
}

fn remark_facts(remark: &Remark) -> RemarkFacts {
    let mut text = remark.place.as_ref().map(|place| format!("{place}: ")).unwrap_or_default();
    text.push_str(&remark.what);
    if let Some(way_out) = &remark.way_out {
        if !text.ends_with(['.', '!', '?']) {
            text.push('.');
        }
        text.push(' ');
        text.push_str(way_out);
    }
    RemarkFacts { level: remark.level.name().to_owned(), text }
}

fn cautions(overview: &Overview<'_>) -> Vec<String> {
    let prescription = overview.case.prescription;
    let mut cautions: Vec<String> = prescription.cautions.clone();
    for product in &prescription.products {
        for caution in &product.cautions {
            let line = format!("{}: {caution}", product.label);
            if !cautions.contains(&line) && !cautions.contains(caution) {
                cautions.push(line);
            }
        }
    }
    cautions
}
