//! How far two partings of the same cells agree.

use std::collections::BTreeMap;

/// Zones that agree less than this with those of the whole field, where cores are left out, are not stable (own).
pub(super) const LEAST_AGREEMENT: f64 = 0.8;

/// The adjusted Rand index of two partings: 1 where they are the same, about 0 where they agree by chance only.
///
/// # Source
/// Hubert and Arabie 1985, "Comparing partitions", Journal of Classification 2:193, equation 5.
#[must_use]
pub fn adjusted_rand(some: &[u8], others: &[u8]) -> f64 {
    let mut both: BTreeMap<(u8, u8), f64> = BTreeMap::new();
    let (mut rows, mut columns) = (BTreeMap::new(), BTreeMap::new());
    for (&a, &b) in some.iter().zip(others) {
        *both.entry((a, b)).or_default() += 1.0;
        *rows.entry(a).or_default() += 1.0;
        *columns.entry(b).or_default() += 1.0;
    }
    let pairs = |count: f64| count * (count - 1.0) / 2.0;
    let sum = |counts: &BTreeMap<u8, f64>| counts.values().map(|n| pairs(*n)).sum::<f64>();
    let all = pairs(some.len().min(others.len()) as f64);
    let together: f64 = both.values().map(|n| pairs(*n)).sum();
    let (of_rows, of_columns) = (sum(&rows), sum(&columns));
    let expected = of_rows * of_columns / all.max(1.0);
    let most = f64::midpoint(of_rows, of_columns);
    if most > expected {
        (together - expected) / (most - expected)
    } else {
        1.0
    }
}
