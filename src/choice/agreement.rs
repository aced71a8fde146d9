//! How far two partings of the same cells agree.

/// Zones that agree less than this with those of the whole field, where cores are left out, are not stable (own).
pub(super) const LEAST_AGREEMENT: f64 = 0.8;

/// The adjusted Rand index of two partings: 1 where they are the same, about 0 where they agree by chance only.
///
/// # Source
/// Hubert and Arabie 1985, "Comparing partitions", Journal of Classification 2:193, equation 5.
#[must_use]
pub fn adjusted_rand(some: &[u8], others: &[u8]) -> f64 {
    let most = |labels: &[u8]| labels.iter().max().map_or(0, |most| usize::from(*most) + 1);
    let (count, width) = (most(some), most(others));
    let mut both = vec![0.0; count * width];
    let (mut rows, mut columns) = (vec![0.0; count], vec![0.0; width]);
    for (&a, &b) in some.iter().zip(others) {
        let (a, b) = (usize::from(a), usize::from(b));
        both[a * width + b] += 1.0;
        rows[a] += 1.0;
        columns[b] += 1.0;
    }
    let pairs = |count: f64| count * (count - 1.0) / 2.0;
    let sum = |counts: &[f64]| counts.iter().map(|n| pairs(*n)).sum::<f64>();
    let all = pairs(some.len().min(others.len()) as f64);
    let together = sum(&both);
    let (of_rows, of_columns) = (sum(&rows), sum(&columns));
    let expected = of_rows * of_columns / all.max(1.0);
    let most = f64::midpoint(of_rows, of_columns);
    if most > expected {
        (together - expected) / (most - expected)
    } else {
        1.0
    }
}
