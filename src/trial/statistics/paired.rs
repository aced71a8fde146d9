use super::{student_t_cdf, student_t_quantile};

/// Paired t test of the differences between neighbours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairedTest {
    /// Mean difference.
    pub mean: f64,
    /// Standard error of the mean.
    pub standard_error: f64,
    /// Lower and upper end of the 90 % interval.
    pub interval: (f64, f64),
    /// Two-sided p value.
    pub p: f64,
}

/// The paired t test; `None` under two differences or where all are the same.
///
/// # Source
/// Student 1908. Biometrika 6:1-25.
#[must_use]
pub fn paired_t(differences: &[f64]) -> Option<PairedTest> {
    let n = differences.len() as f64;
    if differences.len() < 2 {
        return None;
    }
    let mean = differences.iter().sum::<f64>() / n;
    let square: f64 = differences.iter().map(|d| (d - mean) * (d - mean)).sum();
    let standard_error = (square / (n - 1.0) / n).sqrt();
    if standard_error <= 0.0 {
        return None;
    }
    let half = student_t_quantile(0.95, n - 1.0) * standard_error;
    Some(PairedTest {
        mean,
        standard_error,
        interval: (mean - half, mean + half),
        p: 2.0 * student_t_cdf(-(mean / standard_error).abs(), n - 1.0),
    })
}

/// Exact test by the signs that the differences could have had.
#[derive(Debug, Clone, PartialEq)]
pub struct SignFlip {
    /// Two-sided p value: share of the sign patterns whose mean is at least as far from 0.
    pub p: f64,
    /// The least p value that so many differences can give.
    pub least_p: f64,
    /// Median of the means of all pairs of differences, each with itself too.
    pub centre: f64,
}

/// The exact sign-flip test; `None` without differences or with more than 20 (a million patterns).
///
/// # Source
/// Fisher, R.A. 1935. The Design of Experiments, section 21; centre by Hodges, J.L. and Lehmann, E.L. 1963. Annals of Mathematical Statistics 34:598-611.
#[must_use]
pub fn sign_flip(differences: &[f64]) -> Option<SignFlip> {
    let n = differences.len();
    if n == 0 || n > 20 {
        return None;
    }
    let seen = differences.iter().sum::<f64>().abs();
    let size: f64 = differences.iter().map(|d| d.abs()).sum();
    let signed = |pattern: u32| -> f64 {
        let sign = |at: usize| if pattern >> at & 1 == 1 { -1.0 } else { 1.0 };
        differences
            .iter()
            .enumerate()
            .map(|(at, d)| sign(at) * d)
            .sum()
    };
    let patterns = 1_u32 << n;
    // The same sum in another order may differ in its last bits.
    let far = (0..patterns)
        .filter(|&pattern| signed(pattern).abs() >= seen - 1e-12 * size)
        .count();
    let mut means: Vec<f64> = Vec::with_capacity(n * (n + 1) / 2);
    for (at, a) in differences.iter().enumerate() {
        means.extend(differences[at..].iter().map(|b| 0.5 * (a + b)));
    }
    means.sort_by(f64::total_cmp);
    let middle = means.len() / 2;
    let centre = if means.len() % 2 == 1 {
        means[middle]
    } else {
        0.5 * (means[middle - 1] + means[middle])
    };
    Some(SignFlip {
        p: far as f64 / f64::from(patterns),
        least_p: 2.0 / f64::from(patterns),
        centre,
    })
}
