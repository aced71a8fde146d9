//! The way back from logarithms to the values themselves.

use super::leave_one_out::Prediction;
use super::left_out::LeftOut;
use super::standard_error::{StandardErrorCurve, harmonic_squared};
use super::tuning::Tuned;

/// Largest correction that is tried, in halves of the variance: more than 1 where the neighbours tell less than the curve says.
const LARGEST: f64 = 3.0;
/// Steps that halve the range of the correction.
const HALVINGS: usize = 40;
/// Share by which the mean of left-out predictions may differ from the mean of the observations (own, from `examples/map_gate.rs`).
const UNBIASED: f64 = 0.05;

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
    /// From the places left out, in logarithms. `None` where no correction meets their mean.
    pub(super) fn fit(
        left_out: &LeftOut,
        in_logs: &Prediction,
        tuned: &Tuned,
        curve: StandardErrorCurve,
    ) -> Option<Self> {
        let observed = || in_logs.observed.iter().map(|log| libm::exp(*log));
        let mut made = Self {
            curve,
            correction: 0.0,
            low: observed().fold(f64::INFINITY, f64::min),
            high: observed().fold(0.0, f64::max),
        };
        let wanted: f64 = observed().sum();
        let sum_with = |correction: f64| -> f64 {
            let logs = Self { correction, ..made };
            logs.back(left_out, in_logs, tuned).predicted.iter().sum()
        };
        let (mut low, mut high) = (0.0, LARGEST);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if sum_with(middle) < wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        made.correction = f64::midpoint(low, high);
        let reached = sum_with(made.correction);
        ((reached - wanted).abs() <= UNBIASED * wanted).then_some(made)
    }

    /// What the places left out are predicted at, in the layer's unit, from their matched neighbours.
    pub(super) fn back(
        &self,
        left_out: &LeftOut,
        in_logs: &Prediction,
        tuned: &Tuned,
    ) -> Prediction {
        self.turned_back(in_logs, |place| {
            harmonic_squared(left_out.matched(place), tuned.count)
        })
    }

    /// The same from all other places.
    pub(super) fn back_from_all(
        &self,
        left_out: &LeftOut,
        in_logs: &Prediction,
        count: usize,
    ) -> Prediction {
        self.turned_back(in_logs, |place| {
            harmonic_squared(left_out.near(place), count)
        })
    }

    fn turned_back(&self, in_logs: &Prediction, distance: impl Fn(usize) -> f64) -> Prediction {
        let at = |(place, log): (usize, &f64)| self.value(*log, distance(place));
        Prediction {
            observed: in_logs.observed.iter().map(|log| libm::exp(*log)).collect(),
            predicted: in_logs.predicted.iter().enumerate().map(at).collect(),
        }
    }

    /// The value at a place, from the mean of the logarithms there and the square of the harmonic mean distance to the neighbours, m²;
    /// within the range of the observations.
    pub(super) fn value(&self, log: f64, harmonic_squared: f64) -> f64 {
        self.from_variance(log, self.curve.at(harmonic_squared).powi(2))
    }

    /// Value and standard error of a cell from those of its logarithm.
    pub(super) fn cell(&self, log: f32, standard_error: f32) -> (f32, f32) {
        let variance = f64::from(standard_error).powi(2);
        let value = self.from_variance(f64::from(log), variance);
        (value as f32, (value * libm::expm1(variance).sqrt()) as f32)
    }

    fn from_variance(&self, log: f64, variance: f64) -> f64 {
        let rise = (variance - self.curve.at_core).max(0.0);
        libm::exp(log + 0.5 * self.correction * rise).clamp(self.low, self.high)
    }
}

#[cfg(test)]
#[path = "logs_tests.rs"]
mod tests;
