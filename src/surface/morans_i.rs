//! Moran's I: whether near observations are alike.

use super::inverse_distance::inner_and_rim;
use super::left_out::LeftOut;

/// Nearest places whose mean a place is compared with.
pub(super) const NEAREST: usize = 8;

/// Moran's I with what chance alone would give.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoransI {
    /// `(n / S0) sum w (x_i - m)(x_j - m) / sum (x_i - m)²`; near 1 where neighbours are alike, near `expectation` by chance.
    pub i: f64,
    /// `-1 / (n - 1)`.
    pub expectation: f64,
    /// Variance if the values are normal and independent.
    pub variance_normality: f64,
    /// Variance if the values seen were dealt to the places at random.
    pub variance_randomisation: f64,
}

/// Moran's I of values under weights: for each value, the others with their weight. `None` with fewer than four values,
/// without weights, or where all values are equal.
///
/// # Source
/// Cliff, A.D. and J.K. Ord. 1981. Spatial Processes: Models and Applications. Pion, London (from memory; checked against
/// esda and spdep).
///
/// # Example
/// ```
/// use lowstave::surface::morans_i;
/// let chain = [vec![(1, 1.0)], vec![(0, 1.0), (2, 1.0)], vec![(1, 1.0), (3, 1.0)], vec![(2, 1.0)]];
/// let found = morans_i(&[1.0, 2.0, 9.0, 10.0], &chain).unwrap();
/// assert!((found.i - 0.39487).abs() < 1e-5);
/// ```
#[must_use]
pub fn morans_i(values: &[f64], weights: &[Vec<(usize, f64)>]) -> Option<MoransI> {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let off: Vec<f64> = values.iter().map(|v| v - mean).collect();
    let squares: f64 = off.iter().map(|e| e * e).sum();
    let (mut cross, mut s0) = (0.0, 0.0);
    let (mut rows, mut columns) = (vec![0.0; values.len()], vec![0.0; values.len()]);
    for (i, others) in weights.iter().enumerate().take(values.len()) {
        for &(j, weight) in others {
            cross += weight * off[i] * off.get(j)?;
            s0 += weight;
            rows[i] += weight;
            columns[j] += weight;
        }
    }
    if values.len() < 4 || squares <= 0.0 || s0 <= 0.0 {
        return None;
    }
    let s1 = sum_of_squared_pairs(weights);
    let s2: f64 = rows
        .iter()
        .zip(&columns)
        .map(|(r, c)| (r + c) * (r + c))
        .sum();
    let expectation = -1.0 / (n - 1.0);
    let normal = (n * n * s1 - n * s2 + 3.0 * s0 * s0) / ((n * n - 1.0) * s0 * s0)
        - expectation * expectation;
    let kurtosis = n * off.iter().map(|e| e.powi(4)).sum::<f64>() / (squares * squares);
    let spread = n * ((n * n - 3.0 * n + 3.0) * s1 - n * s2 + 3.0 * s0 * s0)
        - kurtosis * ((n * n - n) * s1 - 2.0 * n * s2 + 6.0 * s0 * s0);
    let dealt = spread / ((n - 1.0) * (n - 2.0) * (n - 3.0) * s0 * s0) - expectation * expectation;
    Some(MoransI {
        i: n / s0 * cross / squares,
        expectation,
        variance_normality: normal,
        variance_randomisation: dealt,
    })
}

/// `sum (w_ij + w_ji)² / 2`.
fn sum_of_squared_pairs(weights: &[Vec<(usize, f64)>]) -> f64 {
    let back = |i: usize, j: usize| {
        weights.get(j).map_or(0.0, |row| {
            row.iter()
                .filter(|(to, _)| *to == i)
                .map(|(_, w)| w)
                .sum::<f64>()
        })
    };
    let mut sum = 0.0;
    for (i, others) in weights.iter().enumerate() {
        for &(j, weight) in others {
            let other = back(i, j);
            // A pair with weights both ways is met twice, one with a weight one way only once.
            sum += if other == 0.0 {
                2.0 * weight * weight
            } else {
                (weight + other) * (weight + other)
            };
        }
    }
    sum / 2.0
}

/// Moran's I of the places left out, each compared with its 8 nearest (ties share), rows standardised.
pub(super) fn of_nearest(left_out: &LeftOut, source: &[u32], values: &[f64]) -> Option<f64> {
    let value = |site: u32| values[source[site as usize] as usize];
    let n = left_out.len() as f64;
    let mean = left_out.sites.iter().map(|&site| value(site)).sum::<f64>() / n;
    let (mut cross, mut squares) = (0.0, 0.0);
    for (place, &site) in left_out.sites.iter().enumerate() {
        let near = left_out.near(place);
        let last = NEAREST.min(near.len()).checked_sub(1)?;
        let (inner, rim) = inner_and_rim(near.iter().map(|n| n.squared), near[last].squared);
        let sum = |some: &[super::neighbours::Neighbour]| {
            some.iter().map(|n| value(n.site) - mean).sum::<f64>()
        };
        let count = (last + 1) as f64;
        let lag = (sum(&near[..inner])
            + (count - inner as f64) / rim as f64 * sum(&near[inner..inner + rim]))
            / count;
        let off = value(site) - mean;
        cross += off * lag;
        squares += off * off;
    }
    (squares > 0.0).then(|| cross / squares)
}
