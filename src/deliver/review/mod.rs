//! What the reports say, before it is laid out: the same facts in the same order for text, HTML and `explain`.
//! Every number is a text here already, in the units that the plan asks for.

mod field;
mod fixes;
mod maps;
mod numbers;
mod sources;
mod zone;

pub use field::{ActionTable, FieldFacts};
pub use maps::{CountFacts, MapFacts};
#[cfg(feature = "geopackage")]
pub use numbers::unit_word;
pub use numbers::{capital, grouped, layer_number, layer_unit, with_unit};
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
    /// What the budget left out and what more money would buy.
    pub budget: Vec<String>,
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

/// Remarks of one kind that have the same way out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RemarkFacts {
    /// `look`, `guess` or `note`.
    pub level: &'static str,
    code: &'static str,
    /// Where and what, one line each.
    pub lines: Vec<String>,
    /// What the user can do.
    pub help: Option<String>,
}

impl Review {
    /// Puts the facts into words.
    #[must_use]
    pub fn new(overview: &Overview<'_>) -> Self {
        let (looks, others): (Vec<&Remark>, Vec<&Remark>) = overview
            .stages
            .remarks
            .iter()
            .partition(|remark| remark.level == Level::Warning);
        Self {
            field: FieldFacts::new(overview),
            actions: ActionTable::new(overview),
            budget: field::budget_lines(overview),
            looks: remark_facts(&looks),
            other_remarks: remark_facts(&others),
            zones: (0..overview.zones.len())
                .map(|place| ZoneReview::new(overview, place))
                .collect(),
            maps: maps::maps(overview),
            counts: CountFacts::new(overview),
            cautions: cautions(overview),
            disputed: sources::disputed(overview),
            sources: sources::sources(overview),
        }
    }
}

/// Remarks of the same kind with the same way out stand together, where the first of them stands.
fn remark_facts(remarks: &[&Remark]) -> Vec<RemarkFacts> {
    let mut facts: Vec<RemarkFacts> = Vec::new();
    for remark in remarks {
        let place = remark
            .place
            .as_ref()
            .map(|place| format!("{place}: "))
            .unwrap_or_default();
        let line = format!("{place}{}", remark.what);
        let help = remark.help.as_ref().map(|help| capital(help));
        let same = facts
            .iter_mut()
            .find(|known| known.code == remark.code && known.help == help && help.is_some());
        match same {
            Some(known) => known.lines.push(line),
            None => facts.push(RemarkFacts {
                level: remark.level.name(),
                code: remark.code,
                lines: vec![line],
                help,
            }),
        }
    }
    facts
}

fn cautions(overview: &Overview<'_>) -> Vec<String> {
    let prescription = overview.stages.prescription;
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
