use serde::{Deserialize, Serialize};

/// A stretch along a pass that lies in one zone.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Run {
    /// Number of the zone.
    pub zone: u32,
    /// Metres along, of its beginning.
    pub from_m: f64,
    /// Metres along, of its end.
    pub to_m: f64,
}

impl Run {
    /// Length, metres.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.to_m - self.from_m
    }
}

/// What two lists of stretches share.
#[must_use]
pub fn shared(a: &[(f64, f64)], b: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut both = Vec::new();
    for (from, to) in a {
        for (other_from, other_to) in b {
            let (start, end) = (from.max(*other_from), to.min(*other_to));
            if end > start {
                both.push((start, end));
            }
        }
    }
    both
}
