//! What the farm's files are made from.

use super::facts::{FieldFacts, Rings};
use crate::plan::Day;
use crate::units::UnitSystem;

/// A farm and its finished fields.
#[derive(Debug, Clone)]
pub struct FarmInput<'a> {
    /// Name of the farm.
    pub farm: &'a str,
    /// Who grows the crops.
    pub grower: Option<&'a str>,
    /// Who made the review.
    pub prepared_by: Option<&'a str>,
    /// Day of the review.
    pub date: Option<Day>,
    /// Units that are printed.
    pub units: UnitSystem,
    /// Fields with a result, in the order of the farm.
    pub fields: Vec<FarmField<'a>>,
    /// Fields without one.
    pub problems: Vec<FarmProblem>,
    /// What the farm's budget came to, where it has one.
    pub shared: Option<Shared>,
    /// What stands in the farm's shed.
    pub stock: Vec<StockLine>,
}

/// A field of a farm.
#[derive(Debug, Clone)]
pub struct FarmField<'a> {
    /// Name in the farm.
    pub id: &'a str,
    /// Name of the field.
    pub field: &'a str,
    /// Crop.
    pub crop: &'a str,
    /// Season.
    pub season: u16,
    /// Workable area, hectares.
    pub area_ha: f64,
    /// Workable area, acres.
    pub area_ac: f64,
    /// What is kept of it.
    pub facts: &'a FieldFacts,
    /// Outlines of its pieces, in the order of the facts.
    pub outlines: Vec<&'a [Rings]>,
}

impl FarmField<'_> {
    /// Area in the unit that is printed.
    #[must_use]
    pub fn area(&self, units: UnitSystem) -> f64 {
        match units {
            UnitSystem::UnitedStates => self.area_ac,
            UnitSystem::Metric => self.area_ha,
        }
    }
}

/// Why a field has no result.
#[derive(Debug, Clone)]
pub struct FarmProblem {
    /// Name in the farm.
    pub id: String,
    /// What is wrong, with its place.
    pub what: String,
    /// The way out.
    pub help: Option<String>,
}

/// How the farm's budget was shared out.
#[derive(Debug, Clone, PartialEq)]
pub struct Shared {
    /// The limit, cents.
    pub limit: u64,
    /// What the fields would take in all, cents.
    pub wanted: u64,
    /// The fields that got less than they would take, by their printed names.
    pub short: Vec<String>,
    /// Cents that the consultant's own rates take beyond the limit.
    pub beyond: u64,
    /// The shares relieve at least so much of the best that is possible, 0 to 1; 1 where they are the best.
    pub of_best: f64,
    /// How many fields lost their result after it was shared out.
    pub lost: usize,
}

/// A product in the shed.
#[derive(Debug, Clone, PartialEq)]
pub struct StockLine {
    /// Name in the rulebook.
    pub product: String,
    /// Kilograms or litres.
    pub amount: f64,
    /// Whether it is measured by volume.
    pub is_liquid: bool,
}
