use std::sync::Arc;

use geo::{Geometry, MultiPolygon};
use serde::Serialize;

use crate::analyte::LayerKey;
use crate::order_statistics::{median_of_rising, rising};
use crate::plan::PointKind;
use crate::remark::Remark;
use crate::units::Length;

/// Everything that was read, each in its own coordinate system still.
#[derive(Debug, Clone)]
pub struct Survey {
    /// The field's outline.
    pub boundary: AreaShape<MultiPolygon<f64>>,
    /// Keep-outs, in the order of the plan.
    pub keep_outs: Vec<AreaShape<Geometry<f64>>>,
    /// One table per file of points, in the order of the plan.
    pub tables: Vec<PointTable>,
    /// Every file that was read, plan and rulebook included.
    pub inputs: Vec<InputFile>,
    /// What the files made us say.
    pub remarks: Vec<Remark>,
}

/// A file that went in, for the record of the run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct InputFile {
    /// As the user named it.
    pub path: String,
    /// Lower-case hexadecimal SHA-256 of its bytes.
    pub sha256: String,
    /// Size in bytes.
    pub bytes: u64,
}

/// A shape with its coordinate system.
#[derive(Debug, Clone)]
pub struct AreaShape<G> {
    /// The file it came from, as the user named it.
    pub file: Arc<str>,
    /// The shape; x is east or longitude, y is north or latitude.
    pub shape: G,
    /// CRS as text for PROJ (`EPSG:4326`, WKT, a PROJ string).
    pub crs: String,
}

/// One file of located results, column by column.
#[derive(Debug, Clone)]
pub struct PointTable {
    /// The file, as the user named it.
    pub file: Arc<str>,
    /// What it holds.
    pub kind: PointKind,
    /// CRS as text for PROJ.
    pub crs: String,
    /// East or longitude, one per row kept.
    pub x: Vec<f64>,
    /// North or latitude, one per row kept.
    pub y: Vec<f64>,
    /// Row number in the file (header included, from 1), one per row kept.
    pub row: Vec<u32>,
    /// Sample names, one per row kept, where the plan names a column for them.
    pub id: Option<Vec<Arc<str>>>,
    /// The layers found; each has one value per row kept.
    pub layers: Vec<LayerColumn>,
    /// For cone files: the pushes as read.
    pub cone: Option<ConeProfiles>,
}

/// One layer of a table.
#[derive(Debug, Clone)]
pub struct LayerColumn {
    /// What it is.
    pub key: LayerKey,
    /// The column that it was read from, or how it was derived.
    pub column: Arc<str>,
    /// Canonical unit of the analyte catalogue.
    pub unit: Arc<str>,
    /// One value per row of the table in the canonical unit; NaN where there is no result.
    /// A result outside the detection range holds the number that the plan's rule gives it.
    pub values: Vec<f64>,
    /// Rows (index into `values`, rising) whose result was qualified.
    pub qualified: Vec<(u32, Qualifier)>,
    /// Whether the program computed it from other columns.
    pub derived: bool,
}

/// The numbers that describe a layer, for a list of layers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LayerSummary {
    /// Results with a number.
    pub count: usize,
    /// Rows without one.
    pub missing: usize,
    /// Results below a limit, known or not.
    pub below_detection: usize,
    /// Least, in the canonical unit; `None` where there is no number.
    pub minimum: Option<f64>,
    /// Median.
    pub median: Option<f64>,
    /// Most.
    pub maximum: Option<f64>,
}

impl LayerColumn {
    /// Counts and order statistics of the layer.
    #[must_use]
    pub fn summary(&self) -> LayerSummary {
        let finite = rising(&self.values);
        LayerSummary {
            count: finite.len(),
            missing: self.values.len() - finite.len(),
            below_detection: self
                .qualified
                .iter()
                .filter(|(_, q)| matches!(q, Qualifier::Below(_) | Qualifier::BelowUnknown))
                .count(),
            minimum: finite.first().copied(),
            median: median_of_rising(&finite),
            maximum: finite.last().copied(),
        }
    }
}

/// What stood beside or instead of a number. Limits are in the canonical unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Qualifier {
    /// `<0.5`: below the limit of detection.
    Below(f64),
    /// `ND`, `trace`: below a limit that the file does not give.
    BelowUnknown,
    /// `>200`: above the range of the test.
    Above(f64),
    /// `J`: estimated.
    Estimated,
}

/// The pushes of a cone penetrometer: cone index at each depth mark.
#[derive(Debug, Clone)]
pub struct ConeProfiles {
    /// Depth marks, shallow to deep.
    pub depths: Vec<Length>,
    /// Cone index in kPa, push by push (row-major, pushes x depths); NaN where the push did not reach.
    pub kilopascals: Vec<f64>,
    /// One per push: the depth mark at which the soil refused it (there and below it is harder than it could be pushed), if it was.
    pub refused: Vec<Option<Length>>,
    /// What the operator noted of the soil's moisture.
    pub moisture: Option<String>,
}
