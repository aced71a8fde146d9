//! What the farm's own check strips said of a product, weighed against what is thought beforehand.

use std::fmt;

use serde::Serialize;
use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::{Factor, Numbers, ProductName, Rulebook};

/// What decides whether a product goes out, apart from how much.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Gate {
    /// Something that it answers is measured short, and nothing closes it.
    Open,
    /// A finding of this factor closes it.
    ClosedBy(Factor),
    /// Nothing that it answers is measured short.
    NothingShort,
    /// Whether something that it answers is short is not known.
    NotKnown,
}

impl fmt::Display for Gate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Open => f.write_str("open"),
            Self::ClosedBy(factor) => write!(f, "closed by {}", factor.name()),
            Self::NothingShort => f.write_str("nothing short"),
            Self::NotKnown => f.write_str("not known"),
        }
    }
}

/// The trials of one product under one gate on the farm's own ground.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnTrial {
    /// Name of the product.
    pub product: String,
    /// The gate under which it was tried, as [`Gate`] prints it.
    pub gate: String,
    /// Crop.
    pub crop: String,
    /// One entry per harvest.
    pub harvests: Vec<OwnHarvest>,
    /// The gain that paid in those trials, kg/ha, where the crop's price was known.
    pub pays_from: Option<f64>,
}

/// What one harvest said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OwnHarvest {
    /// Season.
    pub season: u16,
    /// Gain of the product, kg/ha.
    pub gain: f64,
    /// Its standard error, kg/ha.
    pub standard_error: f64,
    /// Strips that count.
    pub strips: usize,
}

/// Own trials and what was thought beforehand, together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Weighed {
    /// Expected gain, kg/ha.
    pub gain: f64,
    /// Its standard deviation, kg/ha.
    pub spread: f64,
    /// 90 % interval, kg/ha.
    pub interval: (f64, f64),
    /// Harvests.
    pub trials: usize,
    /// Strips of all harvests.
    pub strips: usize,
}

impl OwnTrial {
    /// The expected gain: normal trials with a normal prior, each weighed by one over its variance. A trial's variance is that of its own
    /// error and that of seasons, since a season is one draw of the weather.
    ///
    /// `mean = (m/s² + sum g/(e² + b²)) / (1/s² + sum 1/(e² + b²))`, variance `1/(1/s² + sum 1/(e² + b²))`, with the prior's mean m and
    /// spread s, gains g with errors e, and the spread b between seasons.
    ///
    /// # Source
    /// Gelman et al. 2013, Bayesian Data Analysis, 3rd edition, section 2.5, equations 2.11 and 2.12 (normal data with known variance,
    /// conjugate prior), from memory; checked by hand in the tests. The 90 % interval is 1.6449 standard deviations.
    #[must_use]
    pub fn weigh(&self, numbers: &Numbers) -> Weighed {
        let spread = numbers.own_trial_prior_spread.kilograms_per_hectare();
        let between = numbers.own_trial_between_seasons.kilograms_per_hectare();
        let prior = spread.max(f64::MIN_POSITIVE).powi(-2);
        let mut weight = prior;
        let mut sum = prior * numbers.own_trial_prior_gain.kilograms_per_hectare();
        for harvest in &self.harvests {
            let own = 1.0 / (harvest.standard_error.powi(2) + between.powi(2));
            weight += own;
            sum += own * harvest.gain;
        }
        let (gain, deviation) = (sum / weight, weight.powf(-0.5));
        let half = 1.6449 * deviation;
        Weighed {
            gain,
            spread: deviation,
            interval: (gain - half, gain + half),
            trials: self.harvests.len(),
            strips: self.harvests.iter().map(|harvest| harvest.strips).sum(),
        }
    }
}

impl OwnTrial {
    /// Chance that harvests of one true gain differ as much as these: Cochran's Q, each harvest weighed as in [`OwnTrial::weigh`], against
    /// chi-square with one degree of freedom less than there are harvests; `None` of fewer than two.
    ///
    /// `Q = sum wᵢ (gᵢ - g)²`, `wᵢ = 1/(eᵢ² + b²)`, `g = sum wᵢ gᵢ / sum wᵢ`.
    ///
    /// # Source
    /// Cochran 1954, Biometrics 10:101-129, from memory; checked by hand in the tests.
    #[must_use]
    pub fn chance_of_one_gain(&self, numbers: &Numbers) -> Option<f64> {
        let between = numbers.own_trial_between_seasons.kilograms_per_hectare();
        let weights = || {
            let harvests = self.harvests.iter();
            harvests.map(|harvest| {
                let variance = harvest.standard_error.powi(2) + between.powi(2);
                (1.0 / variance.max(f64::MIN_POSITIVE), harvest.gain)
            })
        };
        let sum: f64 = weights().map(|(weight, _)| weight).sum();
        let gain = weights().map(|(weight, gain)| weight * gain).sum::<f64>() / sum;
        let q: f64 = weights()
            .map(|(weight, own)| weight * (own - gain).powi(2))
            .sum();
        let freedom = self
            .harvests
            .len()
            .checked_sub(1)
            .filter(|free| *free > 0)?;
        let law = ChiSquared::new(freedom as f64).ok()?;
        Some(law.sf(q))
    }

    /// Whether the harvests differ too much to be one gain.
    #[must_use]
    pub fn disagrees(&self, numbers: &Numbers) -> bool {
        self.chance_of_one_gain(numbers)
            .is_some_and(|chance| chance < numbers.own_trials_disagree_below)
    }
}

impl Rulebook {
    /// The own trials of a product under a gate with a crop.
    #[must_use]
    pub fn own_trial(&self, product: &ProductName, gate: Gate, crop: &str) -> Option<&OwnTrial> {
        let gate = gate.to_string();
        self.own_trials.iter().find(|trial| {
            *product == trial.product.as_str() && trial.gate == gate && trial.crop == crop
        })
    }
}

#[cfg(test)]
#[path = "own_trials_tests.rs"]
mod tests;
