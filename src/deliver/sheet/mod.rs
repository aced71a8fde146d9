//! What the page in the browser shows of a run: the same facts as the reports, with the shapes to draw.

mod difference;
mod ground;
mod layers;
mod samples;

pub use difference::difference;
pub use layers::{RasterPart, raster};
pub use samples::{
    SampleFacts, SampleFile, SampleValue, sample_facts, sample_files, sample_values,
};

use serde::Serialize;

use super::audit;
use super::colours::{Colour, hex, ink_on, layer, treatment};
use super::error::DeliverError;
use super::overview::Overview;
use super::report_html::{MapFrame, cone_charts, zone_chapter};
use super::review::{FirstSheet, RemarkFacts, Review, ZoneReview};
use super::stage_values::StageValues;
use crate::units::Area;
use ground::Ground;
use layers::LayerFacts;

/// Steps of the colour ramp that are handed to the page.
const RAMP: usize = 64;

/// A run as the page shows it. Texts are as the reports print them; shapes are metres east and north of the field's middle.
#[derive(Debug, Clone, Serialize)]
pub struct Sheet {
    /// Name of the field.
    pub field: String,
    /// Crop, season and area.
    pub about: Vec<String>,
    /// For whom and by whom.
    pub people: Vec<String>,
    /// What is done where, each with its letter and colour.
    pub treatments: Vec<TreatmentFacts>,
    /// The products that go somewhere, as columns of the zones' rates.
    pub columns: Vec<ColumnFacts>,
    /// All products.
    pub products: Vec<ProductFacts>,
    /// Unit of areas.
    pub area_unit: &'static str,
    /// Unit of costs.
    pub cost_unit: &'static str,
    /// The zones, by rising number.
    pub zones: Vec<ZoneFacts>,
    /// All area.
    pub total_area: String,
    /// What to test first.
    pub tests: Vec<String>,
    /// What the zones are worth.
    pub worth: Vec<String>,
    /// What the check strips can show.
    pub checks: Vec<String>,
    /// What to buy.
    pub buy: Vec<String>,
    /// Products, other work and budget in one line.
    pub money: String,
    /// Cost of all products, whole United States dollars.
    pub products_usd: i64,
    /// Cost of other work, whole United States dollars.
    pub work_usd: i64,
    /// Why so many zones.
    pub why_zones: String,
    /// Remarks that somebody should look at, then the others.
    pub remarks: Vec<RemarkText>,
    /// Outlines to draw.
    pub ground: Ground,
    /// The maps.
    pub layers: Vec<LayerFacts>,
    /// Colours of a map from its lowest to its highest value.
    pub ramp: Vec<String>,
    /// Whether there are pushes of a cone penetrometer to chart.
    pub has_cones: bool,
}

/// What is done first in some zones.
#[derive(Debug, Clone, Serialize)]
pub struct TreatmentFacts {
    /// Its letter.
    pub letter: String,
    /// The order.
    pub order: String,
    /// Where.
    pub place: String,
    /// Its colour.
    pub colour: String,
    /// The colour of letters on it.
    pub ink: &'static str,
}

/// A product that goes somewhere, as a column.
#[derive(Debug, Clone, Serialize)]
pub struct ColumnFacts {
    /// What people call it.
    pub label: String,
    /// One or two words for a narrow place.
    pub word: String,
    /// Unit of its rates.
    pub unit: &'static str,
    /// Total over the field, with its unit.
    pub total: String,
}

/// A product over the field.
#[derive(Debug, Clone, Serialize)]
pub struct ProductFacts {
    /// Its name in the plan.
    pub name: String,
    /// What people call it.
    pub label: String,
    /// Unit of its rates.
    pub unit: &'static str,
    /// Total as printed.
    pub total: String,
    /// Whether some of it goes anywhere.
    pub is_used: bool,
    /// Total, in the unit of `total`.
    #[serde(skip)]
    pub amount: f64,
    /// Unit of the total.
    #[serde(skip)]
    pub amount_unit: &'static str,
    /// Area that gets some, in the sheet's unit.
    #[serde(skip)]
    pub treated: f64,
}

/// A zone.
#[derive(Debug, Clone, Serialize)]
pub struct ZoneFacts {
    /// Its number.
    pub zone: u32,
    /// Position of its treatment.
    pub treatment: usize,
    /// Its area.
    pub area: String,
    /// What to do first.
    pub do_first: String,
    /// Why.
    pub reason: String,
    /// One rate per column.
    pub rates: Vec<String>,
    /// Whether each rate is more than nothing.
    pub is_applied: Vec<bool>,
    /// Cost per area.
    pub cost: String,
}

/// A remark in words.
#[derive(Debug, Clone, Serialize)]
pub struct RemarkText {
    /// The word for its level.
    pub level: &'static str,
    /// Where and what.
    pub lines: Vec<String>,
    /// What to do.
    pub help: Option<String>,
}

impl Sheet {
    /// The sheet of a run.
    ///
    /// # Errors
    /// Where the stages' values do not fit together, as for the files.
    pub fn new(stages: &StageValues<'_>) -> Result<Self, DeliverError> {
        let overview = Overview::new(stages)?;
        audit::audit(&overview)?;
        let review = Review::new(&overview);
        let frame = MapFrame::new(&overview);
        let (first, ramp) = (
            &review.first,
            (0..RAMP).map(|at| at as f64 / (RAMP - 1) as f64),
        );
        let remarks = review.looks.iter().chain(&review.other_remarks);
        Ok(Self {
            field: first.field.clone(),
            about: first.about.clone(),
            people: first.people.clone(),
            treatments: treatments(&review),
            columns: columns(&review),
            products: products(&overview),
            area_unit: first.table.area_unit,
            cost_unit: first.table.cost_unit,
            zones: zones(&review),
            total_area: first.table.total_area.clone(),
            tests: first.test_lines(),
            worth: first.worth_lines(),
            checks: first.checks.clone(),
            buy: first.buy_lines(),
            money: money_line(first),
            products_usd: first.money.products,
            work_usd: first.money.work,
            why_zones: review.counts.why.clone(),
            remarks: remarks.map(remark).collect(),
            ground: Ground::new(&overview, &frame),
            layers: layers::layers(&overview, &review.maps),
            ramp: ramp.map(|share| hex(layer(share))).collect(),
            has_cones: stages.field.cones.iter().any(Option::is_some),
        })
    }
}

/// A zone's chapter of the report, as markup: barrel, limits, rates, fixes, what was measured. `None` where there is no such zone.
///
/// # Errors
/// As [`Sheet::new`].
pub fn chapter(stages: &StageValues<'_>, zone: u32) -> Result<Option<String>, DeliverError> {
    let overview = Overview::new(stages)?;
    let place = overview.zones.iter().position(|view| view.number == zone);
    let review = place.map(|place| ZoneReview::new(&overview, place));
    Ok(review.map(|review| zone_chapter(&review).into_string()))
}

/// Median pushes of each zone, as markup; empty without a cone penetrometer.
///
/// # Errors
/// As [`Sheet::new`].
pub fn cones(stages: &StageValues<'_>) -> Result<String, DeliverError> {
    let overview = Overview::new(stages)?;
    Ok(cone_charts(&overview).map_or_else(String::new, maud::Markup::into_string))
}

/// The money, and what other work it holds.
fn money_line(first: &FirstSheet) -> String {
    let line = first.money.line();
    if first.work.is_empty() {
        return line;
    }
    format!("{line}. Other work by zone: {}", first.work)
}

fn treatments(review: &Review) -> Vec<TreatmentFacts> {
    let facts = |(at, own): (usize, &super::review::Treatment)| {
        let colour: Colour = treatment(at);
        TreatmentFacts {
            letter: own.letter.clone(),
            order: own.order.clone(),
            place: own.place.clone(),
            colour: hex(colour),
            ink: ink_on(colour),
        }
    };
    review
        .first
        .treatments
        .iter()
        .enumerate()
        .map(facts)
        .collect()
}

fn columns(review: &Review) -> Vec<ColumnFacts> {
    let table = &review.first.table;
    let heads = table.products.iter().zip(&table.totals);
    heads
        .map(|(head, total)| ColumnFacts {
            label: head.label.clone(),
            word: head.word.clone(),
            unit: head.unit,
            total: total.clone(),
        })
        .collect()
}

fn products(overview: &Overview<'_>) -> Vec<ProductFacts> {
    let columns = overview.columns.iter().enumerate();
    columns
        .map(|(at, column)| {
            let (amount, amount_unit) = column.total(overview.units);
            let (printed, unit) = column.printed_total(overview.units);
            let treated: Area = overview
                .pieces
                .iter()
                .filter(|piece| piece.rates.get(at).is_some_and(|rate| *rate > 0.0))
                .map(|piece| piece.area)
                .sum();
            ProductFacts {
                name: column.product.name.to_string(),
                label: column.product.label.clone(),
                unit: column.unit,
                total: format!("{} {unit}", super::numbers::with_commas(&printed)),
                is_used: column.is_used,
                amount,
                amount_unit,
                treated: treated.number_in(overview.units),
            }
        })
        .collect()
}

fn zones(review: &Review) -> Vec<ZoneFacts> {
    let rows = review.first.table.rows.iter();
    rows.map(|row| ZoneFacts {
        zone: row.zone,
        treatment: row.treatment,
        area: row.area.clone(),
        do_first: row.do_first.clone(),
        reason: row.reason.clone(),
        rates: row.rates.clone(),
        is_applied: row.is_applied.clone(),
        cost: row.cost.clone(),
    })
    .collect()
}

fn remark(facts: &RemarkFacts) -> RemarkText {
    RemarkText {
        level: facts.level,
        lines: facts.lines.clone(),
        help: facts.help.clone(),
    }
}
