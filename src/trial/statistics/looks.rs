use super::normal_quantile;

/// Steps of the integration; the chance of an exit is right to 1e-8.
const STEPS: usize = 400;

/// The limits of |z| when a decision is looked at once a season for a number of seasons, so that all looks together raise a false alarm
/// with chance `alpha` (two-sided). They fall from season to season: `c sqrt(K / k)`.
///
/// # Range
/// 1 to 20 looks; alpha above 0, below 1. An empty list outside.
///
/// # Source
/// O'Brien, P.C. and Fleming, T.R. 1979. Biometrics 35:549-556; the constant by the recursive integration of Armitage, P.,
/// `McPherson`, C.K. and Rowe, B.C. 1969. Journal of the Royal Statistical Society A 132:235-244.
#[must_use]
pub fn o_brien_fleming(looks: usize, alpha: f64) -> Vec<f64> {
    if !((1..=20).contains(&looks) && alpha > 0.0 && alpha < 1.0) {
        return Vec::new();
    }
    let limits = |constant: f64| -> Vec<f64> {
        (1..=looks)
            .map(|k| constant * (looks as f64 / k as f64).sqrt())
            .collect()
    };
    // One look alone needs the least; the sum of all looks' chances bounds it from above.
    let mut low = normal_quantile(1.0 - alpha / 2.0);
    let mut high = normal_quantile(1.0 - alpha / (2.0 * looks as f64)) + 1e-9;
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if exit_probability(&limits(middle)) > alpha {
            low = middle;
        } else {
            high = middle;
        }
    }
    limits(0.5 * (low + high))
}

/// The chance that |z| passes its limit at some look although there is no effect; look k has the data of k equal seasons.
#[must_use]
pub fn exit_probability(limits: &[f64]) -> f64 {
    let Some(&first) = limits.first() else {
        return 0.0;
    };
    // Sums of standard normal seasons: after look k the sum stays inside limit × sqrt(k).
    let mut edge = first;
    let mut density: Vec<f64> = (0..=STEPS).map(|i| normal_density(at(edge, i))).collect();
    for (k, limit) in limits.iter().enumerate().skip(1) {
        let next = limit * ((k + 1) as f64).sqrt();
        density = (0..=STEPS)
            .map(|i| {
                let here = at(next, i);
                integral(edge, |j| density[j] * normal_density(here - at(edge, j)))
            })
            .collect();
        edge = next;
    }
    1.0 - integral(edge, |i| density[i])
}

fn at(edge: f64, step: usize) -> f64 {
    edge * (2.0 * step as f64 / STEPS as f64 - 1.0)
}

/// Simpson's rule from -edge to edge.
fn integral(edge: f64, value: impl Fn(usize) -> f64) -> f64 {
    let weight = |i: usize| match i {
        0 | STEPS => 1.0,
        odd if odd % 2 == 1 => 4.0,
        _ => 2.0,
    };
    let sum: f64 = (0..=STEPS).map(|i| weight(i) * value(i)).sum();
    sum * 2.0 * edge / (3.0 * STEPS as f64)
}

fn normal_density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt()
}
