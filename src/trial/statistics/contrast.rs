//! What one check says.

/// What one check says in one zone: the mean of its two sides less the check itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contrast {
    /// Gain of the product, in the unit of the yields.
    pub gain: f64,
    /// Weight: the number of segments it is the mean of.
    pub weight: f64,
}
