//! Layers tuned and predicted on the scale that they are worked on.

use std::borrow::Cow;

use rayon::prelude::*;

use super::back_from_logs::InLogs;
use super::leave_one_out::Prediction;
use super::left_out::LeftOut;
use super::logs::Logs;
use super::permutation::MOST_PREDICTED_ANEW;
use super::plane::Plane;
use super::scale::Scale;
use super::sites::Sites;
use super::smoother::Smoother;
use super::standard_error::{self, LayerModel, SampledCells};
use super::standard_error_curve::StandardErrorCurve;
use super::tuning::{Tuned, tune};
use super::tuning_table::Table;
use super::variogram::Variogram;

/// Logarithms are used where the places left out are met, in the layer's own unit, at most this many times as badly as without (own,
/// from `examples/map_gate.rs`): few large values decide that error, and logarithms hold better where no core stands.
const NO_WORSE: f64 = 1.05;

/// What all layers of a group share.
pub(super) struct Ground<'a> {
    /// The sites.
    pub sites: &'a Sites,
    /// The places left out.
    pub left_out: &'a LeftOut,
    /// Powers and counts that are tried.
    pub table: &'a Table,
    /// What predicts left-out places.
    pub smoother: &'a Smoother,
    /// Cells at which the standard error is worked out.
    pub cells: &'a SampledCells,
    /// Whether some cores stand in pairs or heaps: then most of the map lies far from any, and the way back from logarithms leans on
    /// what nobody measured.
    pub is_clustered: bool,
}

/// A layer on the scale that it is worked on.
pub(super) struct Estimate<'v> {
    /// Its values on that scale, by observation.
    pub worked: Cow<'v, [f64]>,
    /// What was chosen for it.
    pub tuned: Tuned,
    /// The places left out, on that scale.
    pub on_scale: Prediction,
    /// The places left out, in the layer's unit.
    pub prediction: Prediction,
    /// The plane that is taken out first.
    pub plane: Option<Plane>,
    /// The standard error, on that scale.
    pub curve: StandardErrorCurve,
    /// The way back, where the scale is of logarithms.
    pub logs: Option<Logs>,
    /// What is compared with chance where it is not the scale that the map is worked on: a skewed layer is tested in logarithms whichever of
    /// the two serves the map better, since choosing the better one first would make chance look worse than it is.
    pub tested: Option<TestedScale>,
}

/// A layer on the scale on which it is compared with chance.
pub(super) struct TestedScale {
    /// Its values on that scale, by observation.
    pub values: Vec<f64>,
    /// What was chosen for it.
    pub tuned: Tuned,
    /// The places left out.
    pub prediction: Prediction,
}

impl Ground<'_> {
    /// Each layer on its scale. `values` go by observation.
    pub(super) fn estimates<'v>(&self, values: &[&'v [f64]]) -> Vec<Estimate<'v>> {
        let mut made = self.on_scale(values.iter().map(|v| Cow::Borrowed(*v)).collect());
        let is_skewed =
            |values: &&[f64]| Scale::of(self.left_out, self.sites, values) == Scale::Logarithm;
        let can_tell = self.table.is_free()
            && !self.is_clustered
            && self.sites.places() <= MOST_PREDICTED_ANEW;
        let skewed: Vec<usize> = (0..values.len())
            .filter(|&at| can_tell && is_skewed(&values[at]))
            .collect();
        let in_logs = skewed
            .iter()
            .map(|&at| Scale::Logarithm.taken(values[at]))
            .collect();
        for (at, candidate) in skewed.into_iter().zip(self.on_scale(in_logs)) {
            let plain = &made[at].prediction;
            let worth = NO_WORSE.powi(2) * squares(plain);
            let tested = TestedScale {
                values: candidate.worked.to_vec(),
                tuned: candidate.tuned,
                prediction: candidate.on_scale.clone(),
            };
            match self.back_from_logs(candidate, &plain.observed) {
                Some(back) if squares(&back.prediction) <= worth => made[at] = back,
                _ => made[at].tested = Some(tested),
            }
        }
        made
    }

    fn on_scale<'v>(&self, worked: Vec<Cow<'v, [f64]>>) -> Vec<Estimate<'v>> {
        let plain: Vec<&[f64]> = worked.iter().map(|values| &**values).collect();
        let tuned = tune(self.table, self.smoother, &self.sites.source, &plain);
        let variograms = Variogram::fit(self.sites, self.left_out, &plain);
        worked
            .into_par_iter()
            .zip(tuned)
            .zip(variograms)
            .map(|((worked, tuned), variogram)| self.estimate(worked, tuned, variogram))
            .collect()
    }

    fn estimate<'v>(
        &self,
        worked: Cow<'v, [f64]>,
        tuned: Tuned,
        variogram: Option<Variogram>,
    ) -> Estimate<'v> {
        let source = &self.sites.source;
        let prediction = Prediction::matched(self.smoother, self.left_out, source, &worked, &tuned);
        let plane = || Plane::fit(self.sites, &worked);
        let model = LayerModel {
            sites: self.sites,
            variogram,
            power: tuned.power,
            count: tuned.count,
        };
        Estimate {
            plane: tuned.is_tilted.then(plane).flatten(),
            curve: standard_error::fit(self.cells, self.left_out, &prediction, &model),
            on_scale: prediction.clone(),
            prediction,
            worked,
            tuned,
            logs: None,
            tested: None,
        }
    }

    fn back_from_logs<'v>(&self, of: Estimate<'v>, observed: &[f64]) -> Option<Estimate<'v>> {
        let in_logs = of.in_logs(self.left_out, observed);
        let logs = in_logs.way_back(of.curve)?;
        Some(Estimate {
            prediction: in_logs.matched(&logs),
            logs: Some(logs),
            ..of
        })
    }
}

impl Estimate<'_> {
    /// Its places left out, where the scale is of logarithms; `observed` are the values themselves.
    pub(super) fn in_logs<'a>(&'a self, left_out: &'a LeftOut, observed: &'a [f64]) -> InLogs<'a> {
        InLogs {
            left_out,
            logarithms: &self.on_scale,
            observed,
            count: self.tuned.count,
        }
    }
}

fn squares(prediction: &Prediction) -> f64 {
    prediction.errors().iter().map(|error| error * error).sum()
}
