//! What the reports say, before it is laid out: the same facts in the same order for text, HTML and `explain`.
//! Every number is a text here already, in the units that the plan asks for.

mod balance;
mod buy;
pub mod check_strips;
mod field;
mod first_sheet;
mod fixes;
mod maps;
mod money;
mod remarks;
mod sources;
mod tests_first;
mod treatment;
mod whole_need;
mod worth;
mod zone;

pub use balance::{BalanceFacts, HEADS};
pub use buy::BuyLine;
pub(in crate::deliver) use buy::usd;
pub use field::FieldFacts;
pub use first_sheet::{FirstSheet, ZoneRow, ZoneTable};
pub use maps::{CountFacts, MapFacts};
pub(in crate::deliver) use money::guessed_words;
pub use money::{Money, work};

pub use remarks::{RemarkFacts, remark_facts};
pub use tests_first::{TestLine, not_known};
pub use treatment::{Treatment, do_first, treatments};
pub use worth::{WorthFacts, WorthLine};
pub use zone::{FindingFacts, FixFacts, ProfileFacts, RateFacts, ZoneReview};

/// Title of the removal sheet.
pub const BALANCE: &str = "What the crop takes and what is left";

use super::overview::Overview;
use super::since_last_time::SinceFacts;
use crate::remark::{Level, Remark};

/// Most lines of a first sheet on what the budget left out; the details have all.
pub const MOST_UNPAID: usize = 3;

/// Said at the end of every list of cautions.
pub const ALWAYS: &str =
    "Read each product's label and safety sheet; setbacks and permits come first.";

/// All that the reports say.
#[derive(Debug, Clone)]
pub struct Review {
    /// Field, area, files, cost.
    pub field: FieldFacts,
    /// What to do where, what to test, what to buy and pay.
    pub first: FirstSheet,
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
    /// What became of the zones since an earlier season.
    pub since: Option<SinceFacts>,
    /// What the zones are worth.
    pub worth: WorthFacts,
    /// Cautions of the whole prescription, then of products.
    pub cautions: Vec<String>,
    /// Rules that research disputes, one line each.
    pub disputed: Vec<String>,
    /// What the crops take and the products bring.
    pub balance: BalanceFacts,
    /// Sources of the thresholds and limits that were used.
    pub sources: Vec<String>,
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
        let looks = remark_facts(&looks);
        Self {
            field: FieldFacts::new(overview),
            first: FirstSheet::new(overview, &looks),
            budget: field::budget_lines(overview),
            looks,
            other_remarks: remark_facts(&others),
            zones: (0..overview.zones.len())
                .map(|place| ZoneReview::new(overview, place))
                .collect(),
            maps: maps::maps(overview),
            counts: CountFacts::new(overview),
            since: SinceFacts::new(overview),
            worth: WorthFacts::new(overview),
            cautions: cautions(overview),
            disputed: sources::disputed(overview),
            balance: BalanceFacts::new(overview),
            sources: sources::sources(overview),
        }
    }
}

fn cautions(overview: &Overview<'_>) -> Vec<String> {
    let prescription = overview.stages.prescription;
    let mut cautions: Vec<String> = prescription.cautions.clone();
    let used = overview.used_columns().map(|column| column.product);
    for product in used {
        let own: Vec<&str> = product
            .cautions
            .iter()
            .filter(|caution| !prescription.cautions.contains(caution))
            .map(String::as_str)
            .collect();
        if !own.is_empty() {
            cautions.push(format!("{}: {}", product.label, own.join(" ")));
        }
    }
    cautions
}
