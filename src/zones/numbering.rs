//! The order of the clusters, which a small change in the data must not shuffle.

/// Clusters in the order of their place along the line on which the centres differ most (first principal component of the
/// centres, weighted by size), from low to high of the layer that has the largest part in it. A small change in the data
/// moves the places a little and the order, but for near ties, not at all.
#[must_use]
pub fn by_first_component(centres: &[Vec<f64>], sizes: &[usize]) -> Vec<usize> {
    let layers = centres.first().map_or(0, Vec::len);
    let total = sizes.iter().sum::<usize>().max(1) as f64;
    let weighted = |value: &dyn Fn(&[f64]) -> f64| {
        centres
            .iter()
            .zip(sizes)
            .map(|(c, &n)| value(c) * n as f64 / total)
            .sum::<f64>()
    };
    let mean: Vec<f64> = (0..layers)
        .map(|layer| weighted(&|centre| centre[layer]))
        .collect();
    let covariance: Vec<Vec<f64>> = (0..layers)
        .map(|a| {
            (0..layers)
                .map(|b| weighted(&|centre| (centre[a] - mean[a]) * (centre[b] - mean[b])))
                .collect()
        })
        .collect();
    let direction = principal_direction(&covariance);
    let place = |centre: &[f64]| {
        centre
            .iter()
            .zip(&mean)
            .zip(&direction)
            .map(|((c, m), d)| (c - m) * d)
            .sum::<f64>()
    };
    let mut order: Vec<usize> = (0..centres.len()).collect();
    order.sort_by(|&a, &b| {
        place(&centres[a])
            .total_cmp(&place(&centres[b]))
            .then(a.cmp(&b))
    });
    order
}

/// Eigenvector of the largest eigenvalue by power iteration, its largest entry positive (of nearly equal ones, the first).
fn principal_direction(covariance: &[Vec<f64>]) -> Vec<f64> {
    let widest = (0..covariance.len()).max_by(|&a, &b| {
        covariance[a][a]
            .total_cmp(&covariance[b][b])
            .then(b.cmp(&a))
    });
    let Some(mut direction) = widest.map(|layer| covariance[layer].clone()) else {
        return Vec::new();
    };
    for _ in 0..200 {
        let next: Vec<f64> = covariance
            .iter()
            .map(|row| row.iter().zip(&direction).map(|(a, b)| a * b).sum())
            .collect();
        let norm = next.iter().map(|v: &f64| v * v).sum::<f64>().sqrt();
        if norm <= f64::MIN_POSITIVE {
            break;
        }
        direction = next.iter().map(|v| v / norm).collect();
    }
    let largest = direction.iter().fold(0.0_f64, |most, v| most.max(v.abs()));
    let lead = direction
        .iter()
        .find(|v| v.abs() >= 0.8 * largest)
        .copied()
        .unwrap_or(0.0);
    if lead < 0.0 {
        direction.iter().map(|v| -v).collect()
    } else {
        direction
    }
}
