//! The rows of `fields.parquet` and `zones.parquet`, taken from what a field's own files say.

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::error::FarmError;
use crate::deliver::Delivery;
use crate::engine::Run;
use crate::remark::Level;

/// The map whose features are the rows of `zones.parquet`.
const MAP: &str = "prescription.geojson";

/// A field in short.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FieldRow {
    /// Name in the farm.
    pub id: String,
    /// Plan file relative to the farm file, or the row of the table that holds the plan.
    pub plan: String,
    /// Name of the field.
    pub field: String,
    /// Season.
    pub season: u16,
    /// Crop.
    pub crop: String,
    /// Workable area, hectares.
    pub area_ha: f64,
    /// Workable area, acres.
    pub area_ac: f64,
    /// How many zones.
    pub zones: usize,
    /// Cost of all products, United States dollars.
    pub cost_usd: f64,
    /// Cost of other work, United States dollars.
    pub work_usd: f64,
    /// Totals of the products: name and unit, and amount.
    pub totals: Vec<(String, f64)>,
    /// What to test first, one line each.
    pub test_first: Vec<String>,
    /// Remarks that somebody should look at.
    pub looks: Vec<String>,
    /// How many guesses.
    pub guesses: usize,
    /// How many notes.
    pub notes: usize,
}

impl FieldRow {
    /// From a finished run.
    #[must_use]
    pub fn new(id: &str, plan: &str, run: &Run, delivery: &Delivery) -> Self {
        let summary = &delivery.summary;
        let looks = run
            .remarks()
            .iter()
            .filter(|remark| remark.level == Level::Warning);
        let totals = summary.products.iter();
        Self {
            id: id.to_owned(),
            plan: plan.to_owned(),
            field: summary.field.clone(),
            season: summary.season,
            crop: summary.crop.clone(),
            area_ha: summary.area_ha,
            area_ac: summary.area_ac,
            zones: summary.zones.len(),
            cost_usd: summary.cost_usd,
            work_usd: summary.work_usd,
            totals: totals
                .map(|total| (format!("{}_{}", total.product, total.unit), total.total))
                .collect(),
            test_first: summary.test_first.clone(),
            looks: looks.map(|remark| remark.what.clone()).collect(),
            guesses: summary.guesses,
            notes: summary.notes,
        }
    }
}

/// A zone, or the ground of a check strip in it, with what is done there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PieceRow {
    /// The properties of the feature.
    pub properties: Map<String, Value>,
    /// Parts, each with its outline and its holes; longitude and latitude, closed.
    pub parts: Vec<Vec<Vec<[f64; 2]>>>,
}

impl PieceRow {
    /// The features of a field's map.
    ///
    /// # Errors
    /// Where the map is not there or cannot be read: a fault of the program.
    pub fn all(delivery: &Delivery) -> Result<Vec<Self>, FarmError> {
        #[derive(Deserialize)]
        struct Collection {
            features: Vec<Feature>,
        }
        #[derive(Deserialize)]
        struct Feature {
            geometry: Geometry,
            properties: Map<String, Value>,
        }
        #[derive(Deserialize)]
        struct Geometry {
            coordinates: Vec<Vec<Vec<[f64; 2]>>>,
        }
        let bytes = delivery.get(MAP).unwrap_or_default();
        let map: Collection = serde_json::from_slice(bytes).map_err(|cause| FarmError::Table {
            file: "zones.parquet",
            cause: format!("{MAP}: {cause}"),
        })?;
        let pieces = map.features.into_iter().map(|feature| Self {
            properties: feature.properties,
            parts: feature.geometry.coordinates,
        });
        Ok(pieces.collect())
    }
}
