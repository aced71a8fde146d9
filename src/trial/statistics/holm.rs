/// Holm's step-down: p values corrected for being several, in the order in which they came.
///
/// # Source
/// Holm, S. 1979. A simple sequentially rejective multiple test procedure. Scandinavian Journal of Statistics 6:65-70.
#[must_use]
pub fn holm(p_values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p_values.len()).collect();
    order.sort_by(|&a, &b| p_values[a].total_cmp(&p_values[b]).then(a.cmp(&b)));
    let mut corrected = vec![0.0; p_values.len()];
    let mut largest = 0.0_f64;
    for (rank, &at) in order.iter().enumerate() {
        let left = (p_values.len() - rank) as f64;
        largest = largest.max((left * p_values[at]).min(1.0));
        corrected[at] = largest;
    }
    corrected
}
