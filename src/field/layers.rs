use std::sync::Arc;

use geo::MultiPolygon;

use crate::analyte::LayerKey;
use crate::intake::Qualifier;
use crate::plan::PointKind;

/// A keep-out on the field's plane.
#[derive(Debug, Clone)]
pub struct KeptOut {
    /// The area with its buffer.
    pub shape: MultiPolygon<f64>,
    /// Why, in the user's words.
    pub why: String,
    /// The file it came from.
    pub file: Arc<str>,
    /// Ground that it covers with its buffer, inside the field or not, m².
    pub covered_m2: f64,
    /// Ground that it takes inside the boundary, m²; where keep-outs overlap, each counts the common ground.
    pub inside_m2: f64,
}

/// The places of one table's observations on the field's plane.
#[derive(Debug, Clone)]
pub struct Places {
    /// The file, as the user named it.
    pub file: Arc<str>,
    /// What it holds.
    pub kind: PointKind,
    /// Metres east of the field's centre.
    pub x: Vec<f64>,
    /// Metres north of the field's centre.
    pub y: Vec<f64>,
    /// Row in the file.
    pub row: Vec<u32>,
    /// Sample names, where there are some.
    pub id: Option<Vec<Arc<str>>>,
    /// Indices of the observations that stand outside and are not used, with metres from the boundary; rising.
    pub outside: Vec<(u32, f64)>,
}

/// One layer's values at the places of one table.
#[derive(Debug, Clone)]
pub struct FieldLayer {
    /// What it is.
    pub key: LayerKey,
    /// Index into `Field::places`.
    pub places: usize,
    /// Column it was read from, or how it was derived.
    pub column: Arc<str>,
    /// Canonical unit.
    pub unit: Arc<str>,
    /// One value per place; NaN where there is no result or the place stands outside.
    pub values: Vec<f64>,
    /// Qualified results by index into `values`.
    pub qualified: Vec<(u32, Qualifier)>,
    /// Whether the program computed it from other columns.
    pub derived: bool,
}

impl FieldLayer {
    /// How many usable results there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.values.iter().filter(|v| v.is_finite()).count()
    }
}
