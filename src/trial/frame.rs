use serde::{Deserialize, Serialize};

/// The passes of the planter laid over the field's plane: metres along the way of travel and across it, to the right.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Frame {
    /// Way of travel, degrees clockwise from north.
    pub heading: f64,
    /// Metres across, of the left edge of the first pass.
    pub left_m: f64,
    /// Working width of the planter, metres.
    pub swath_m: f64,
}

impl Frame {
    /// Metres along and across of a place on the plane.
    #[must_use]
    pub fn along_across(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let (east, north) = self.heading.to_radians().sin_cos();
        (x * east + y * north, x * north - y * east)
    }

    /// The place on the plane of metres along and across.
    #[must_use]
    pub fn place(&self, along: f64, across: f64) -> (f64, f64) {
        let (east, north) = self.heading.to_radians().sin_cos();
        (along * east + across * north, along * north - across * east)
    }

    /// Metres across of the left edge of a pass, counted from 0.
    #[must_use]
    pub fn edge(&self, pass: usize) -> f64 {
        self.left_m + pass as f64 * self.swath_m
    }

    /// The pass that holds metres across; `None` left of the first.
    #[must_use]
    pub fn pass_at(&self, across: f64) -> Option<usize> {
        let pass = ((across - self.left_m) / self.swath_m).floor();
        (pass >= 0.0).then_some(pass as usize)
    }
}
