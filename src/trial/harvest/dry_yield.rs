use super::YieldPoint;

/// Moisture at which grain of a crop is sold, percent: corn and sorghum, soybean and wheat (customary in the United States).
pub const STANDARD_MOISTURE: [(&str, f64); 4] = [
    ("corn", 15.5),
    ("sorghum", 14.0),
    ("soybean", 13.0),
    ("wheat", 13.5),
];
const SQUARE_METRES_PER_HECTARE: f64 = 10_000.0;

/// The moisture at which a crop is sold, percent; `None` where it is not known.
#[must_use]
pub fn standard_moisture(crop: &str) -> Option<f64> {
    let plain = crop.trim().to_lowercase();
    STANDARD_MOISTURE
        .iter()
        .find(|(name, _)| plain.contains(name) || plain == "maize" && *name == "corn")
        .map(|(_, moisture)| *moisture)
}

/// The same dry matter at standard moisture: `wet (100 - moisture) / (100 - standard)`.
///
/// # Units
/// Moistures in percent; the yield in any unit.
#[must_use]
pub fn at_standard_moisture(wet: f64, moisture: f64, standard: f64) -> f64 {
    wet * (100.0 - moisture) / (100.0 - standard)
}

/// Yield from what flowed in a time over a strip of ground.
///
/// # Units
/// kg/s, s, m, m; kg/ha.
#[must_use]
pub fn from_flow(flow: f64, seconds: f64, distance: f64, width: f64) -> f64 {
    flow * seconds / (distance * width) * SQUARE_METRES_PER_HECTARE
}

impl YieldPoint {
    /// Yield at standard moisture, kg/ha, where the flow (rather than the point's own) is given; NaN where a column is missing.
    #[must_use]
    pub(super) fn dry(&self, flow: f64, standard: f64) -> f64 {
        if self.yields.is_finite() {
            return if self.is_dry {
                self.yields
            } else {
                at_standard_moisture(self.yields, self.moisture, standard)
            };
        }
        let wet = from_flow(flow, self.seconds, self.distance, self.width);
        at_standard_moisture(wet, self.moisture, standard)
    }
}
