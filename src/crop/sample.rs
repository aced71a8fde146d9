//! Mean, spread and 90 % interval of a few numbers, of their difference, and of their trend.

use statrs::distribution::{ContinuousCDF, StudentsT};

/// Share of the t distribution below the upper end of a 90 % interval.
const UPPER: f64 = 0.95;

/// A few numbers in short.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// How many.
    pub count: usize,
    /// Their mean.
    pub mean: f64,
    /// Standard deviation; `None` of fewer than two.
    pub spread: Option<f64>,
    /// Lower and upper end of the 90 % interval of the mean; `None` of fewer than two.
    pub interval: Option<(f64, f64)>,
}

/// The difference of two means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// The second less the first.
    pub change: f64,
    /// Lower and upper end of its 90 % interval.
    pub interval: (f64, f64),
}

/// A straight line through some means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// Change for each unit of the first number.
    pub slope: f64,
    /// Lower and upper end of its 90 % interval; `None` of fewer than three.
    pub interval: Option<(f64, f64)>,
}

/// The value below which 95 % of Student's t distribution lies.
///
/// # Range
/// Degrees of freedom above 0; NaN otherwise.
pub(super) fn student_t(degrees_of_freedom: f64) -> f64 {
    StudentsT::new(0.0, 1.0, degrees_of_freedom).map_or(f64::NAN, |law| law.inverse_cdf(UPPER))
}

/// Mean, standard deviation and 90 % interval: `mean ± t(0.95, n - 1) s / sqrt(n)`. `None` of no numbers.
///
/// # Source
/// Student's interval of a mean.
#[must_use]
pub fn sample(values: &[f64]) -> Option<Sample> {
    if values.is_empty() {
        return None;
    }
    Some(with_spread(values, 0.0))
}

/// As [`sample`], with a standard deviation of at least `least`: what the instrument or method varies by where the numbers agree better than
/// that. `None` of no numbers.
#[must_use]
pub fn sample_with_spread(values: &[f64], least: f64) -> Option<Sample> {
    (!values.is_empty()).then(|| with_spread(values, least))
}

fn with_spread(values: &[f64], least: f64) -> Sample {
    let count = values.len();
    let mean = values.iter().sum::<f64>() / count as f64;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    let spread = (count > 1).then(|| (squares / (count - 1) as f64).sqrt().max(least));
    let interval = spread.map(|spread| {
        let half = student_t((count - 1) as f64) * spread / (count as f64).sqrt();
        (mean - half, mean + half)
    });
    Sample {
        count,
        mean,
        spread,
        interval,
    }
}

/// The second mean less the first with its 90 % interval. `None` where one of them is of fewer than two numbers.
///
/// # Source
/// Welch 1947, Biometrika 34:28-35, with Satterthwaite's degrees of freedom.
#[must_use]
pub fn difference(first: &Sample, second: &Sample) -> Option<Difference> {
    let part = |sample: &Sample| {
        let spread = sample.spread?;
        Some(spread * spread / sample.count as f64)
    };
    let (a, b) = (part(first)?, part(second)?);
    let change = second.mean - first.mean;
    let variance = a + b;
    if variance <= 0.0 {
        return Some(Difference {
            change,
            interval: (change, change),
        });
    }
    let weight = |part: f64, count: usize| part * part / (count - 1) as f64;
    let freedom = variance * variance / (weight(a, first.count) + weight(b, second.count));
    let half = student_t(freedom) * variance.sqrt();
    Some(Difference {
        change,
        interval: (change - half, change + half),
    })
}

/// Least squares through pairs. `None` of fewer than two different first numbers.
///
/// # Source
/// Ordinary least squares; the interval by Student's t with n - 2 degrees of freedom.
#[must_use]
pub fn slope(pairs: &[(f64, f64)]) -> Option<Slope> {
    let count = pairs.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| pairs.iter().map(of).sum::<f64>() / count;
    let (x, y) = (mean(|pair| pair.0), mean(|pair| pair.1));
    let across: f64 = pairs.iter().map(|pair| (pair.0 - x).powi(2)).sum();
    if pairs.len() < 2 || across <= 0.0 {
        return None;
    }
    let with: f64 = pairs.iter().map(|pair| (pair.0 - x) * (pair.1 - y)).sum();
    let slope = with / across;
    let left: f64 = pairs
        .iter()
        .map(|pair| (pair.1 - y - slope * (pair.0 - x)).powi(2))
        .sum();
    let freedom = count - 2.0;
    let interval = (freedom > 0.0).then(|| {
        let half = student_t(freedom) * (left / freedom / across).sqrt();
        (slope - half, slope + half)
    });
    Some(Slope { slope, interval })
}
