/// Mean and standard deviation (n - 1) of the finite ones among some numbers.
fn mean_and_sd(values: impl Iterator<Item = f64> + Clone) -> (f64, f64) {
    let finite = || values.clone().filter(|v| v.is_finite());
    let count = finite().count() as f64;
    let mean = finite().sum::<f64>() / count;
    let square: f64 = finite().map(|v| (v - mean) * (v - mean)).sum();
    (mean, (square / (count - 1.0)).sqrt())
}

use crate::order_statistics::median;

/// Whether each number lies within some standard deviations of the mean of all. Numbers that are missing pass.
pub(super) fn within(values: &[f64], deviations: f64) -> Vec<bool> {
    let (mean, sd) = mean_and_sd(values.iter().copied());
    values
        .iter()
        .map(|v| !v.is_finite() || !sd.is_finite() || (v - mean).abs() <= deviations * sd)
        .collect()
}

/// Median and robust standard deviation: 1.4826 times the median distance from the median.
///
/// # Source
/// Factor of the normal distribution, `1 / Phi^-1(3/4)`; medians of an even number are the mean of the middle two.
pub(super) fn median_and_robust_sd(values: &mut [f64]) -> (f64, f64) {
    const NORMAL: f64 = 1.4826;
    let middle = median(values).unwrap_or(f64::NAN);
    for value in &mut *values {
        *value = (*value - middle).abs();
    }
    (middle, NORMAL * median(values).unwrap_or(f64::NAN))
}
