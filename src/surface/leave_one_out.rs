//! Each place is predicted from all the others: the honest error of a map.

use super::inverse_distance::Power;
use super::left_out::LeftOut;
use super::smoother::Smoother;
use super::surfaces::{PlainSkill, Skill};
use super::tuning::{self, Tuned};

/// What is observed and what the others predict, place by place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Prediction {
    /// Observed, or the mean of a place's observations.
    pub observed: Vec<f64>,
    /// Predicted from all others.
    pub predicted: Vec<f64>,
}

impl Prediction {
    /// Predicts every place left out. `values` go by observation, `source` says which observation stands at a site.
    pub(super) fn new(
        left_out: &LeftOut,
        source: &[u32],
        values: &[f64],
        power: Power,
        count: usize,
    ) -> Self {
        let value = |site: u32| values[source[site as usize] as usize];
        let observed = left_out.sites.iter().map(|&site| value(site)).collect();
        let mut weights = Vec::new();
        let predicted = (0..left_out.len())
            .map(|n| {
                let near = left_out.near(n);
                power.weigh(near, count, &mut weights);
                let sum: f64 = weights
                    .iter()
                    .zip(near)
                    .map(|(w, n)| w * value(n.site))
                    .sum();
                sum / weights.iter().sum::<f64>()
            })
            .collect();
        Self {
            observed,
            predicted,
        }
    }

    /// What a tuned layer's places are predicted at, from their matched neighbours.
    pub(super) fn matched(
        smoother: &Smoother,
        left_out: &LeftOut,
        source: &[u32],
        values: &[f64],
        tuned: &Tuned,
    ) -> Self {
        let columns = tuning::columns(source, &[values]);
        let observed = left_out
            .sites
            .iter()
            .map(|&site| values[source[site as usize] as usize])
            .collect();
        let predicted = smoother
            .predictions(&columns, tuned.entry, tuned.is_tilted)
            .iter()
            .map(|lanes| lanes[0])
            .collect();
        Self {
            observed,
            predicted,
        }
    }

    /// Predicted minus observed, place by place.
    pub(super) fn errors(&self) -> Vec<f64> {
        self.predicted
            .iter()
            .zip(&self.observed)
            .map(|(p, o)| p - o)
            .collect()
    }

    /// Error of the mean of all the others, place by place.
    pub(super) fn errors_of_mean(&self) -> Vec<f64> {
        let n = self.observed.len() as f64;
        let sum: f64 = self.observed.iter().sum();
        self.observed
            .iter()
            .map(|o| (sum - o) / (n - 1.0) - o)
            .collect()
    }

    /// Skill of the map, without the interval, the test and Moran's I; `plain` is the prediction from all the others.
    pub(super) fn skill(&self, plain: &Self) -> Skill {
        let (errors, of_mean) = (self.errors(), self.errors_of_mean());
        let n = errors.len() as f64;
        let mean_square = |numbers: &[f64]| numbers.iter().map(|e| e * e).sum::<f64>() / n;
        let baseline_rmse = mean_square(&of_mean).sqrt();
        let efficiency = |rmse: f64| {
            if baseline_rmse > 0.0 {
                1.0 - (rmse / baseline_rmse).powi(2)
            } else {
                0.0
            }
        };
        let plain_errors = plain.errors();
        let (rmse, plain_rmse) = (
            mean_square(&errors).sqrt(),
            mean_square(&plain_errors).sqrt(),
        );
        Skill {
            n: errors.len(),
            rmse,
            mean_error: errors.iter().sum::<f64>() / n,
            baseline_rmse,
            efficiency: efficiency(rmse),
            plain: PlainSkill {
                rmse: plain_rmse,
                mean_error: plain_errors.iter().sum::<f64>() / n,
                efficiency: efficiency(plain_rmse),
            },
            efficiency_interval: None,
            p_value: None,
            morans_i: None,
        }
    }
}
