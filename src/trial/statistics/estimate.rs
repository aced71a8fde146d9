use super::{Contrast, Scatter, student_t_quantile};

/// A gain with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Weighted mean of the contrasts of the checks.
    pub gain: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Degrees of freedom of the interval.
    pub degrees_of_freedom: f64,
    /// Lower and upper end of the 90 % interval.
    pub interval: (f64, f64),
    /// How many checks.
    pub checks: usize,
}

/// Share of the t distribution below the upper end of a 90 % interval.
const UPPER: f64 = 0.95;
/// A check shorter than this share of a placebo's mean length scatters more than a placebo does. Own.
const SHORT: f64 = 0.5;

/// The gain over the checks; its error from the scatter of the placebos.
///
/// `g = sum n c / sum n`, `se = s0 sqrt(sum n²) / sum n`, `g ± t(0.95, nu) se`; the part of a check shorter than half the
/// placebos' mean length is scaled by `sqrt(mean n / n)`. `None` where the checks have no weight.
///
/// # Source
/// Own; see [`scatter`](super::scatter()).
#[must_use]
pub fn estimate(checks: &[Contrast], scatter: &Scatter) -> Option<Estimate> {
    let checks: Vec<Contrast> = checks.iter().copied().filter(|c| c.weight > 0.0).collect();
    let weight: f64 = checks.iter().map(|c| c.weight).sum();
    if checks.is_empty() {
        return None;
    }
    let gain = checks.iter().map(|c| c.weight * c.gain).sum::<f64>() / weight;
    let standard_error = scatter.sd * weight_share(&checks, scatter.mean_weight);
    let half = student_t_quantile(UPPER, scatter.degrees_of_freedom) * standard_error;
    Some(Estimate {
        gain,
        standard_error,
        degrees_of_freedom: scatter.degrees_of_freedom,
        interval: (gain - half, gain + half),
        checks: checks.len(),
    })
}

/// `sqrt(sum n²) / sum n`, with short checks scaled up: what part of a placebo's scatter the mean of the checks has.
pub(super) fn weight_share(checks: &[Contrast], placebo_weight: f64) -> f64 {
    let square = |c: &Contrast| {
        let factor = if c.weight < SHORT * placebo_weight {
            placebo_weight / c.weight
        } else {
            1.0
        };
        c.weight * c.weight * factor
    };
    let sum: f64 = checks.iter().map(|c| c.weight).sum();
    checks.iter().map(square).sum::<f64>().sqrt() / sum
}
