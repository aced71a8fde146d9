//! The way back from logarithms, fitted to the places left out.

use super::leave_one_out::Prediction;
use super::left_out::LeftOut;
use super::logs::Logs;
use super::standard_error::harmonic_squared;
use super::standard_error_curve::StandardErrorCurve;

/// Largest correction that is tried, in halves of the variance: more than 1 where the neighbours tell less than the curve says.
const LARGEST: f64 = 3.0;
/// Steps that halve the range of the correction.
const HALVINGS: usize = 40;
/// Share by which the mean of left-out predictions may differ from the mean of the observations (own, from `examples/map_gate.rs`).
const UNBIASED: f64 = 0.05;

/// The places left out of a layer that is worked in logarithms.
pub(super) struct InLogs<'a> {
    /// The places.
    pub left_out: &'a LeftOut,
    /// The logarithms there, observed and predicted from matched neighbours.
    pub logarithms: &'a Prediction,
    /// The values themselves.
    pub observed: &'a [f64],
    /// How many nearest sites.
    pub count: usize,
}

impl InLogs<'_> {
    /// The way back. `None` where no correction meets the mean of the values.
    pub(super) fn way_back(&self, curve: StandardErrorCurve) -> Option<Logs> {
        let range = self
            .observed
            .iter()
            .fold((f64::INFINITY, 0.0_f64), |(low, high), value| {
                (low.min(*value), high.max(*value))
            });
        let wanted: f64 = self.observed.iter().sum();
        let sum_with = |correction: f64| -> f64 {
            let logs = Logs::new(curve, correction, range);
            self.matched(&logs).predicted.iter().sum()
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
        let correction = f64::midpoint(low, high);
        let off = (sum_with(correction) - wanted).abs();
        (off <= UNBIASED * wanted).then(|| Logs::new(curve, correction, range))
    }

    /// What the places are predicted at, in the layer's unit, from their matched neighbours.
    pub(super) fn matched(&self, logs: &Logs) -> Prediction {
        self.turned_back(logs, &self.logarithms.predicted, |place| {
            harmonic_squared(self.left_out.matched(place), self.count)
        })
    }

    /// The same from all other places, of which the errors of the logarithms are known.
    pub(super) fn by_all_others(&self, logs: &Logs, errors: &[f64]) -> Prediction {
        let observed = self.logarithms.observed.iter().zip(errors);
        let predicted: Vec<f64> = observed.map(|(log, error)| log + error).collect();
        self.turned_back(logs, &predicted, |place| {
            harmonic_squared(self.left_out.near(place), self.count)
        })
    }

    fn turned_back(
        &self,
        logs: &Logs,
        predicted: &[f64],
        distance: impl Fn(usize) -> f64,
    ) -> Prediction {
        let at = |(place, log): (usize, &f64)| logs.value(*log, distance(place));
        Prediction {
            observed: self.observed.to_vec(),
            predicted: predicted.iter().enumerate().map(at).collect(),
        }
    }
}
