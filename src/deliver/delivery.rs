use serde::Serialize;

use super::farm::FieldFacts;
use super::output_file::OutputFile;
use super::overview::Overview;
use super::review::{FirstSheet, work};
use crate::remark::Level;
use crate::units::{Area, MoneyPerArea, Quantity, UnitSystem, decimal};

/// All files of a run, complete, not yet written.
#[derive(Debug, Clone, PartialEq)]
pub struct Delivery {
    /// The files, by path.
    pub files: Vec<OutputFile>,
    /// What is said on stdout.
    pub summary: Summary,
    /// What the files of a whole farm need of the field.
    pub facts: FieldFacts,
}

impl Delivery {
    /// The bytes of a file by its path.
    #[must_use]
    pub fn get(&self, path: &str) -> Option<&[u8]> {
        self.files
            .iter()
            .find(|file| file.path == path)
            .map(|file| file.bytes.as_slice())
    }
}

/// The short of a run, for stdout and `--json`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Summary {
    /// Name of the field.
    pub field: String,
    /// Season.
    pub season: u16,
    /// Crop.
    pub crop: String,
    /// Units that are printed.
    pub units: UnitSystem,
    /// Workable area, hectares.
    pub area_ha: f64,
    /// Workable area, acres.
    pub area_ac: f64,
    /// One entry per zone, by rising number.
    pub zones: Vec<ZoneSummary>,
    /// One entry per product.
    pub products: Vec<ProductSummary>,
    /// Cost of all products over the field, whole US dollars.
    pub cost_usd: f64,
    /// Cost of other work over the field (loosening, cover crops), whole US dollars.
    pub work_usd: f64,
    /// What the budget holds for the field, whole US dollars, where the plan sets one.
    pub budget_usd: Option<f64>,
    /// Products, other work and budget in one line.
    pub money: String,
    /// What to test first, one line each.
    pub test_first: Vec<String>,
    /// Number of remarks that somebody should look at.
    pub looks: usize,
    /// Number of guesses.
    pub guesses: usize,
    /// Number of notes.
    pub notes: usize,
    /// The files of the run, below the output folder.
    pub files: Vec<String>,
    /// Products that go nowhere, each group with why: waiting for a test, not paid for, not recommended.
    #[serde(skip)]
    pub unused: Vec<(&'static str, Vec<String>)>,
}

/// A zone in the summary.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ZoneSummary {
    /// Its number.
    pub zone: u32,
    /// Area, hectares.
    pub area_ha: f64,
    /// Area, acres.
    pub area_ac: f64,
    /// First limit.
    pub limit_1: Option<&'static str>,
    /// Rates by property name, in the order of the columns.
    pub rates: serde_json::Map<String, serde_json::Value>,
    /// The first thing to do here.
    pub do_first: String,
    /// Cost of products per acre, US dollars.
    pub cost_usd_ac: f64,
    /// Cost of other work per acre, US dollars.
    pub work_usd_ac: f64,
    /// Why.
    pub reason: String,
    /// Cost of products and work per area as the first sheet prints it.
    #[serde(skip)]
    pub cost: String,
}

/// A product in the summary.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProductSummary {
    /// Product name.
    pub product: String,
    /// What people call it.
    pub label: String,
    /// Total over the field.
    pub total: f64,
    /// Unit of the total.
    pub unit: &'static str,
}

impl Summary {
    pub(super) fn new(overview: &Overview<'_>, first: &FirstSheet, files: Vec<String>) -> Self {
        let stages = overview.stages;
        let count = |level| {
            stages
                .remarks
                .iter()
                .filter(|remark| remark.level == level)
                .count()
        };
        let workable = Area::from_square_metres(stages.field.workable_m2);
        Self {
            field: stages.settings.field.clone(),
            season: stages.settings.season,
            crop: stages.settings.crop.clone(),
            units: overview.units,
            area_ha: rounded(workable.in_unit("ha"), 4),
            area_ac: rounded(workable.in_unit("ac"), 4),
            zones: (0..overview.zones.len())
                .map(|place| zone_summary(overview, first, place))
                .collect(),
            products: overview
                .columns
                .iter()
                .map(|column| product_summary(overview, column))
                .collect(),
            cost_usd: first.money.products as f64,
            work_usd: first.money.work as f64,
            budget_usd: first.money.budget.map(|dollars| dollars as f64),
            money: first.money.line(),
            test_first: first.test_lines(),
            looks: count(Level::Warning),
            guesses: count(Level::Assumption),
            notes: count(Level::Info),
            files,
            unused: vec![
                ("waits for a test", first.table.waiting.clone()),
                (
                    "needed, not paid for by the budget",
                    first.table.unpaid.clone(),
                ),
                ("needed, not in the shed", first.table.not_in_shed.clone()),
                ("not recommended anywhere", first.table.unused.clone()),
            ],
        }
    }
}

fn product_summary(
    overview: &Overview<'_>,
    column: &super::columns::RateColumn<'_>,
) -> ProductSummary {
    let (total, unit) = column.printed_total(overview.units);
    ProductSummary {
        product: column.product.name.to_string(),
        label: column.product.label.clone(),
        total: total.parse().unwrap_or_default(),
        unit,
    }
}

fn zone_summary(overview: &Overview<'_>, first: &FirstSheet, place: usize) -> ZoneSummary {
    let view = &overview.zones[place];
    let rate = |column: &super::columns::RateColumn<'_>| {
        (
            column.name.clone(),
            rounded(Some(column.rates[place]), 6).into(),
        )
    };
    ZoneSummary {
        zone: view.number,
        area_ha: rounded(view.area().in_unit("ha"), 4),
        area_ac: rounded(view.area().in_unit("ac"), 4),
        limit_1: view.limits().first().map(|finding| finding.factor.name()),
        rates: overview.columns.iter().map(rate).collect(),
        do_first: first.table.rows[place].do_first.clone(),
        cost_usd_ac: rounded(MoneyPerArea::in_unit(view.rates.cost, "USD/ac"), 2),
        work_usd_ac: rounded(MoneyPerArea::in_unit(work(view), "USD/ac"), 2),
        reason: view.rates.reason.clone(),
        cost: first.table.rows[place].cost.clone(),
    }
}

/// A number as it is printed with that many decimals.
fn rounded(value: Option<f64>, decimals: usize) -> f64 {
    decimal(value.unwrap_or_default(), decimals)
        .parse()
        .unwrap_or_default()
}
