/// Error variance by distance, `at_core + rise u / (u + halfway)`, where `u` is the harmonic mean distance to the neighbours:
/// `u² = k / sum(d^-2)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct StandardErrorCurve {
    /// Variance of another observation at a core's own place.
    pub at_core: f64,
    /// What it rises by far away.
    pub rise: f64,
    /// Harmonic mean distance, metres, at which half of the rise is reached.
    pub halfway: f64,
}

impl StandardErrorCurve {
    /// The same uncertainty everywhere.
    pub(super) fn constant(variance: f64) -> Self {
        Self {
            at_core: variance,
            rise: 0.0,
            halfway: 1.0,
        }
    }

    /// Standard error where the square of the harmonic mean distance is known, m².
    #[inline]
    pub(super) fn at(&self, harmonic_squared: f64) -> f64 {
        let u = harmonic_squared.sqrt();
        (self.at_core + self.rise * u / (u + self.halfway)).sqrt()
    }
}
