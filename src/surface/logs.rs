//! The way back from logarithms to the values themselves.

use super::standard_error_curve::StandardErrorCurve;

/// What a map in logarithms is turned back by.
///
/// The exponent of a mean of logarithms is a median, and lies below the mean of the values. Half the error variance of the
/// logarithms is added to each, as for a lognormal value; only that part of it which rises with the distance to the cores, so that a core keeps its
/// own value, and so many times that the places left out are met on average.
///
/// # Source
/// Mean and variance of a lognormal value: Aitchison, J. and J.A.C. Brown. 1957. The Lognormal Distribution. Cambridge University
/// Press (from memory). That the estimate is scaled until it is unbiased: Journel, A.G. and C.J. Huijbregts. 1978. Mining
/// Geostatistics. Academic Press (from memory); on the places left out: own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Logs {
    curve: StandardErrorCurve,
    correction: f64,
    low: f64,
    high: f64,
}

impl Logs {
    /// A way back with a correction, to within a range of the observations.
    pub(super) fn new(curve: StandardErrorCurve, correction: f64, (low, high): (f64, f64)) -> Self {
        Self {
            curve,
            correction,
            low,
            high,
        }
    }

    /// The value at a place, from the mean of the logarithms there and the square of the harmonic mean distance to the neighbours, m²;
    /// within the range of the observations.
    pub(super) fn value(&self, log: f64, harmonic_squared: f64) -> f64 {
        self.with_variance(log, self.curve.at(harmonic_squared).powi(2))
    }

    /// Value and standard error of a cell from those of its logarithm.
    pub(super) fn cell(&self, log: f32, standard_error: f32) -> (f32, f32) {
        let variance = f64::from(standard_error).powi(2);
        let value = self.with_variance(f64::from(log), variance);
        (value as f32, (value * libm::expm1(variance).sqrt()) as f32)
    }

    fn with_variance(&self, log: f64, variance: f64) -> f64 {
        let rise = (variance - self.curve.at_core).max(0.0);
        libm::exp(log + 0.5 * self.correction * rise).clamp(self.low, self.high)
    }
}

#[cfg(test)]
#[path = "logs_tests.rs"]
mod tests;
