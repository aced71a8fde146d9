use geo::MultiPolygon;
use serde::Serialize;

use super::components::Component;
use crate::analyte::LayerKey;
use crate::remark::Remark;

/// The partition of the workable area.
#[derive(Debug, Clone)]
pub struct Zones {
    /// Index into `zones` of each cell, in the order of `Grid::cells`.
    pub of_cell: Vec<u16>,
    /// The zones. Their order is that of the clustering; the number a person sees comes with the diagnosis.
    pub zones: Vec<Zone>,
    /// Layers that shaped them, with their weight.
    pub layers: Vec<(LayerKey, f64)>,
    /// The principal components of those layers, the widest first; empty where the plan does not ask for them.
    pub components: Vec<Component>,
    /// Places that the plan draws, each a zone of its own; they are the last of `zones`.
    pub drawn: Vec<DrawnPlace>,
    /// The zones before places were drawn into them; empty where none is.
    pub undrawn: Vec<Undrawn>,
    /// The counts that were tried and what they gave; empty where the plan fixed the count.
    pub tried: Vec<CountRow>,
    /// Why this count: one sentence for the report.
    pub why: String,
    /// What this stage has to say.
    pub remarks: Vec<Remark>,
}

/// A place that the plan draws.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnPlace {
    /// Its corners as the plan writes them, longitude and latitude.
    pub corners: Vec<(f64, f64)>,
    /// Index of the zone that it became.
    pub zone: usize,
    /// Index into `Zones::undrawn` of the zone that most of it was cut out of.
    pub out_of: usize,
}

/// A zone before places were drawn into it.
#[derive(Debug, Clone, PartialEq)]
pub struct Undrawn {
    /// Its outline in degrees.
    pub lonlat: MultiPolygon<f64>,
    /// Index of what is left of it; nothing where drawn places cover it whole.
    pub zone: Option<usize>,
    /// The number that people know it by, which what is left of it keeps; nothing before it was judged.
    pub number: Option<u32>,
}

/// One zone, in one or more parts.
#[derive(Debug, Clone)]
pub struct Zone {
    /// Outline on the field's plane, metres. Neighbours share every vertex of their common edge.
    pub shape: MultiPolygon<f64>,
    /// The same outline in degrees (WGS 84), rounded once to 8 decimals, vertex for vertex the same as its neighbours'.
    pub lonlat: MultiPolygon<f64>,
    /// Area on the ellipsoid, m².
    pub area_m2: f64,
}

/// What a number of zones gave.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CountRow {
    /// Number of zones.
    pub count: usize,
    /// Share of the variance of the standardised layers that the zones explain, 0 to 1.
    pub explained: f64,
    /// Mean silhouette width, -1 to 1.
    pub silhouette: Option<f64>,
    /// Fuzziness performance index, 0 crisp to 1 formless.
    pub fuzziness_performance: Option<f64>,
    /// Normalised classification entropy.
    pub classification_entropy: Option<f64>,
}

impl CountRow {
    /// The share of variance explained times how distinct the zones are: the mean of 1 - FPI, 1 - NCE and the silhouette, of
    /// those that exist.
    ///
    /// # Range
    /// 0 to 1; higher is better.
    ///
    /// # Source
    /// own; see the documentation of how the number of zones is chosen.
    #[must_use]
    pub fn score(&self) -> f64 {
        let crisp = self.fuzziness_performance.map(|index| 1.0 - index);
        let orderly = self.classification_entropy.map(|entropy| 1.0 - entropy);
        let parts: Vec<f64> = [crisp, orderly, self.silhouette]
            .into_iter()
            .flatten()
            .map(|part| part.clamp(0.0, 1.0))
            .collect();
        if parts.is_empty() {
            0.0
        } else {
            self.explained * parts.iter().sum::<f64>() / parts.len() as f64
        }
    }
}
