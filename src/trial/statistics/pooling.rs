use super::{normal_quantile, student_t_quantile};

/// What one season, or one field, said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Year {
    /// Gain.
    pub gain: f64,
    /// Its standard error, above 0.
    pub standard_error: f64,
}

/// How the variance between seasons is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Between {
    /// Paule and Mandel: the variance that makes the weighted squares what chance would make them.
    PauleMandel,
    /// By moments, in one step.
    DerSimonianLaird,
}

/// Several seasons together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pooled {
    /// Mean gain over seasons.
    pub gain: f64,
    /// Variance of the true gain between seasons.
    pub between: f64,
    /// Standard error after Hartung and Knapp, Sidik and Jonkman; never below the plain one.
    pub standard_error: f64,
    /// The same without that floor.
    pub plain_hartung_knapp: f64,
    /// `1 / sqrt(sum w)`.
    pub plain: f64,
    /// Lower and upper end of the 90 % interval, `seasons - 1` degrees of freedom.
    pub interval: (f64, f64),
}

/// Pools three seasons or more; `None` with fewer: two seasons do not tell how far seasons differ.
///
/// # Source
/// Paule, R.C. and Mandel, J. 1982. Journal of Research of the National Bureau of Standards 87:377-385; `DerSimonian`, R. and
/// Laird, N. 1986. Controlled Clinical Trials 7:177-188; Hartung, J. and Knapp, G. 2001. Statistics in Medicine 20:3875-3889;
/// Sidik, K. and Jonkman, J.N. 2002. Statistics in Medicine 21:3153-3159.
#[must_use]
pub fn pool(years: &[Year], how: Between) -> Option<Pooled> {
    if years.len() < 3 || years.iter().any(|y| y.standard_error <= 0.0) {
        return None;
    }
    let between = match how {
        Between::PauleMandel => paule_mandel(years),
        Between::DerSimonianLaird => dersimonian_laird(years),
    };
    let Weighted { mean, sum, square } = weighted(years, between);
    let freedom = (years.len() - 1) as f64;
    let factor = square / freedom;
    let standard_error = (factor.max(1.0) / sum).sqrt();
    let half = student_t_quantile(0.95, freedom) * standard_error;
    Some(Pooled {
        gain: mean,
        between,
        standard_error,
        plain_hartung_knapp: (factor / sum).sqrt(),
        plain: sum.sqrt().recip(),
        interval: (mean - half, mean + half),
    })
}

/// One common gain for all seasons: mean weighted by `1 / se²`, its standard error and 90 % interval. `None` without seasons.
#[must_use]
pub fn common_gain(years: &[Year]) -> Option<(Year, (f64, f64))> {
    if years.is_empty() || years.iter().any(|y| y.standard_error <= 0.0) {
        return None;
    }
    let Weighted { mean, sum, .. } = weighted(years, 0.0);
    let standard_error = sum.sqrt().recip();
    let half = normal_quantile(0.95) * standard_error;
    let year = Year {
        gain: mean,
        standard_error,
    };
    Some((year, (mean - half, mean + half)))
}

struct Weighted {
    mean: f64,
    /// Sum of the weights.
    sum: f64,
    /// Weighted squares about the mean.
    square: f64,
}

fn weighted(years: &[Year], between: f64) -> Weighted {
    let weight = |y: &Year| (y.standard_error * y.standard_error + between).recip();
    let sum: f64 = years.iter().map(weight).sum();
    let mean = years.iter().map(|y| weight(y) * y.gain).sum::<f64>() / sum;
    let square = years
        .iter()
        .map(|y| weight(y) * (y.gain - mean).powi(2))
        .sum();
    Weighted { mean, sum, square }
}

/// The squares fall as the variance between seasons rises: bisection.
fn paule_mandel(years: &[Year]) -> f64 {
    let freedom = (years.len() - 1) as f64;
    if weighted(years, 0.0).square <= freedom {
        return 0.0;
    }
    let mut high = 1.0;
    while weighted(years, high).square > freedom && high < 1e12 {
        high *= 2.0;
    }
    let mut low = 0.0;
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if weighted(years, middle).square > freedom {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

fn dersimonian_laird(years: &[Year]) -> f64 {
    let Weighted { sum, square, .. } = weighted(years, 0.0);
    let squares: f64 = years.iter().map(|y| y.standard_error.powi(-4)).sum();
    let freedom = (years.len() - 1) as f64;
    ((square - freedom) / (sum - squares / sum)).max(0.0)
}
