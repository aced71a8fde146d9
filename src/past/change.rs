//! The difference of two years with its interval: sampling error of both, what the laboratory and the time of sampling bring.

use statrs::distribution::{ContinuousCDF, StudentsT};

use crate::analyte::Repeat;

/// Fewest cores that a mean of a zone is made of.
pub(super) const FEWEST_CORES: usize = 3;
/// Share of Student's t below the upper end of a two-sided 90 % interval.
const UPPER_END: f64 = 0.95;
/// Chance of seeing a change of the least size that is told.
const POWER: f64 = 0.80;
/// Degrees of freedom from which Student's t is the normal law.
const MANY: f64 = 1e6;

/// What one year's samples say of a zone's mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// The mean.
    pub mean: f64,
    /// Its standard error by sampling alone.
    pub standard_error: f64,
    /// Degrees of freedom of that error.
    pub degrees_of_freedom: f64,
    /// Cores, pushes or readings that it rests on.
    pub cores: usize,
}

impl Sample {
    /// The mean of values with its standard error; `None` of fewer than three.
    #[must_use]
    pub fn of_values(values: &[f64]) -> Option<Self> {
        if values.len() < FEWEST_CORES {
            return None;
        }
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
        Some(Self {
            mean,
            standard_error: (squares / (count - 1.0) / count).sqrt(),
            degrees_of_freedom: count - 1.0,
            cores: values.len(),
        })
    }
}

/// What became of a zone's mean from one year to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// The earlier year.
    pub then: Sample,
    /// This year.
    pub now: Sample,
    /// Now less then.
    pub difference: f64,
    /// Standard deviation that the laboratory brings into the difference.
    pub laboratory: f64,
    /// Standard deviation that the time of sampling brings into it.
    pub season: f64,
    /// Standard error of the difference, all four parts together.
    pub standard_error: f64,
    /// Degrees of freedom of it.
    pub degrees_of_freedom: f64,
    /// 90 % interval of the difference.
    pub interval: (f64, f64),
    /// The change that would have been seen four times out of five.
    pub least_seen: f64,
}

impl Change {
    /// Whether the interval holds a difference.
    #[must_use]
    pub fn holds(&self, difference: f64) -> bool {
        self.interval.0 <= difference && difference <= self.interval.1
    }
}

/// The difference of two years.
///
/// # Source
/// Welch 1947, Biometrika 34:28-35, and Satterthwaite 1946, Biometrics Bulletin 2:110-114 (degrees of freedom of a sum of variances);
/// the parts for laboratory and time of sampling are taken as known, so that they add no doubt of their own. From memory.
#[must_use]
pub fn change(then: Sample, now: Sample, repeat: Option<Repeat>) -> Change {
    let errors =
        |sample: &Sample| repeat.map_or((0.0, 0.0), |repeat| repeat.errors_of(sample.mean));
    let ((lab_then, season_then), (lab_now, season_now)) = (errors(&then), errors(&now));
    let (laboratory, season) = (lab_then.hypot(lab_now), season_then.hypot(season_now));
    let sampled = [then, now].map(|sample| {
        let variance = sample.standard_error.powi(2);
        (
            variance,
            variance.powi(2) / sample.degrees_of_freedom.max(1.0),
        )
    });
    let variance: f64 = sampled.iter().map(|(variance, _)| variance).sum::<f64>()
        + laboratory.powi(2)
        + season.powi(2);
    let doubt: f64 = sampled.iter().map(|(_, doubt)| doubt).sum();
    let degrees_of_freedom = if doubt > 0.0 {
        (variance.powi(2) / doubt).clamp(1.0, MANY)
    } else {
        MANY
    };
    let standard_error = variance.sqrt();
    let difference = now.mean - then.mean;
    let half = quantile(UPPER_END, degrees_of_freedom) * standard_error;
    Change {
        then,
        now,
        difference,
        laboratory,
        season,
        standard_error,
        degrees_of_freedom,
        interval: (difference - half, difference + half),
        least_seen: half + quantile(POWER, degrees_of_freedom) * standard_error,
    }
}

fn quantile(share: f64, degrees_of_freedom: f64) -> f64 {
    StudentsT::new(0.0, 1.0, degrees_of_freedom).map_or(f64::NAN, |law| law.inverse_cdf(share))
}

#[cfg(test)]
#[path = "change_tests.rs"]
mod tests;
