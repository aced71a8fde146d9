use super::estimate::weight_share;
use super::{Contrast, Scatter, normal_cdf, student_t_quantile};

/// One-sided error of the first kind.
const ALPHA: f64 = 0.05;
/// How sure a true difference should be seen.
const POWER: f64 = 0.80;

/// The least true gain that checks of these weights show at the one-sided 5 % level in 80 of 100 seasons.
///
/// `(t(0.95, nu) + t(0.80, nu)) s0 sqrt(sum n²) / sum n`. The gains of the contrasts are not read. `None` without checks.
///
/// # Source
/// Usual approximation by the sum of two quantiles; here with the scatter of placebo contrasts (own).
#[must_use]
pub fn least_difference(checks: &[Contrast], scatter: &Scatter) -> Option<f64> {
    let checks: Vec<Contrast> = checks.iter().copied().filter(|c| c.weight > 0.0).collect();
    if checks.is_empty() {
        return None;
    }
    let nu = scatter.degrees_of_freedom;
    let quantiles = student_t_quantile(1.0 - ALPHA, nu) + student_t_quantile(POWER, nu);
    Some(quantiles * scatter.sd * weight_share(&checks, scatter.mean_weight))
}

/// How many checks would show a gain, where some number of equal ones shows `shown`: `ceil(m (shown / wanted)²)`.
#[must_use]
pub fn strips_needed(strips: usize, shown: f64, wanted: f64) -> usize {
    let ratio = shown / wanted;
    // A hair under a whole number is that number.
    (strips as f64 * ratio * ratio - 1e-9).ceil().max(1.0) as usize
}

/// The least difference that `pairs` pairs show, per standard deviation of a pair's difference: paired t test, two-sided 10 %, power 80 %.
///
/// # Range
/// 2 pairs and more; NaN below.
///
/// # Source
/// Power of the t test by the noncentral t distribution, as `power.t.test(type = "paired", strict = TRUE)` of R.
#[must_use]
pub fn paired_least_difference(pairs: usize) -> f64 {
    if pairs < 2 {
        return f64::NAN;
    }
    let paired = PairedTest::new(pairs);
    let (mut low, mut high) = (0.0, 100.0);
    for _ in 0..36 {
        let middle = 0.5 * (low + high);
        if paired.power(middle) < POWER {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Whether `pairs` pairs show a difference, in standard deviations of a pair's difference: that of [`paired_least_difference`] is no larger.
#[must_use]
pub fn is_shown_by_pairs(pairs: usize, difference: f64) -> bool {
    pairs >= 2 && PairedTest::new(pairs).power(difference) >= POWER
}

/// A paired t test, two-sided 10 %.
struct PairedTest {
    pairs: f64,
    limit: f64,
    scatter: ScaledChi,
}

impl PairedTest {
    /// Of at least two pairs.
    fn new(pairs: usize) -> Self {
        let nu = (pairs - 1) as f64;
        Self {
            pairs: pairs as f64,
            limit: student_t_quantile(1.0 - ALPHA, nu),
            scatter: ScaledChi::new(nu),
        }
    }

    fn power(&self, difference: f64) -> f64 {
        let shift = difference * self.pairs.sqrt();
        let below = |t: f64| self.scatter.noncentral_t(t, shift);
        1.0 - below(self.limit) + below(-self.limit)
    }
}

/// The law of `w = sqrt(chi² / nu)` as masses on equal steps, by Simpson's rule.
struct ScaledChi {
    /// `w` and its mass.
    steps: Vec<(f64, f64)>,
    all: f64,
}

impl ScaledChi {
    fn new(nu: f64) -> Self {
        const STEPS: usize = 400;
        // The law is centred near 1 with a spread of sqrt(1 / 2 nu).
        let end = 1.0 + 12.0 / (2.0 * nu).sqrt();
        let log_density = |w: f64| (nu - 1.0) * w.ln() - 0.5 * nu * w * w;
        let top = if nu > 1.0 {
            log_density(((nu - 1.0) / nu).sqrt())
        } else {
            0.0
        };
        let density = |w: f64| {
            if w > 0.0 {
                (log_density(w) - top).exp()
            } else if nu == 1.0 {
                1.0
            } else {
                0.0
            }
        };
        let step = |step: usize| {
            let w = end * step as f64 / STEPS as f64;
            let simpson = match step {
                0 | STEPS => 1.0,
                odd if odd % 2 == 1 => 4.0,
                _ => 2.0,
            };
            (w, simpson * density(w))
        };
        let steps: Vec<(f64, f64)> = (0..=STEPS).map(step).collect();
        let all = steps.iter().map(|(_, mass)| mass).sum();
        Self { steps, all }
    }

    /// Share of the noncentral t distribution below a value: the normal share `Phi(t w - shift)` averaged over the law.
    fn noncentral_t(&self, t: f64, shift: f64) -> f64 {
        let below = |(w, mass): &(f64, f64)| mass * normal_cdf(t * w - shift);
        self.steps.iter().map(below).sum::<f64>() / self.all
    }
}

/// How many independent points `n` equally spaced ones are worth whose neighbours correlate with `r`:
/// `n / (1 + 2 sum (1 - k/n) r^k)`.
///
/// # Source
/// Variance of the mean of a first-order autoregressive series; for yield points Plant, R.E. 2007. Agronomy Journal 99:481-488.
#[must_use]
pub fn effective_number(points: usize, correlation: f64) -> f64 {
    let n = points as f64;
    let sum: f64 = (1..points)
        .map(|k| (1.0 - k as f64 / n) * correlation.powi(k as i32))
        .sum();
    n / (1.0 + 2.0 * sum)
}
