//! The middle of numbers, and other shares of them, in one place for the whole program.

/// The median of numbers in any order, the mean of the middle two where their count is even; `None` of none.
///
/// The numbers are left in another order. `NaN` counts as above every number.
///
/// # Example
/// ```
/// use lowstave::order_statistics::median;
/// assert_eq!(median(&mut [3.0, 1.0, 2.0]), Some(2.0));
/// assert_eq!(median(&mut [4.0, 1.0, 2.0, 3.0]), Some(2.5));
/// assert_eq!(median(&mut []), None);
/// ```
#[must_use]
pub fn median(numbers: &mut [f64]) -> Option<f64> {
    let half = numbers.len() / 2;
    if numbers.is_empty() {
        return None;
    }
    let is_even = numbers.len().is_multiple_of(2);
    let (below, upper, _) = numbers.select_nth_unstable_by(half, f64::total_cmp);
    let upper = *upper;
    let lower = below.iter().copied().max_by(f64::total_cmp);
    Some(match lower.filter(|_| is_even) {
        Some(lower) => f64::midpoint(lower, upper),
        None => upper,
    })
}

/// The mean of the middle half of numbers in any order; `None` of none. A quarter is left out at either end, rounded down.
///
/// The numbers are left in rising order. `NaN` counts as above every number.
///
/// # Example
/// ```
/// use lowstave::order_statistics::interquartile_mean;
/// assert_eq!(interquartile_mean(&mut [90.0, 3.0, 1.0, 2.0]), Some(2.5));
/// assert_eq!(interquartile_mean(&mut []), None);
/// ```
///
/// # Source
/// The 25 % trimmed mean of Tukey and `McLaughlin` 1963, Sankhya A 25:331-352 (from memory), with whole numbers left out.
#[must_use]
pub fn interquartile_mean(numbers: &mut [f64]) -> Option<f64> {
    numbers.sort_by(f64::total_cmp);
    let out = numbers.len() / 4;
    let middle = &numbers[out..numbers.len() - out];
    let sum: f64 = middle.iter().sum();
    (!middle.is_empty()).then(|| sum / middle.len() as f64)
}

/// The numbers that are finite, rising.
#[must_use]
pub fn rising(numbers: &[f64]) -> Vec<f64> {
    let finite = numbers.iter().copied().filter(|number| number.is_finite());
    let mut rising: Vec<f64> = finite.collect();
    rising.sort_by(f64::total_cmp);
    rising
}

/// The median of rising numbers; `None` of none.
#[must_use]
pub fn median_of_rising(rising: &[f64]) -> Option<f64> {
    let upper = *rising.get(rising.len() / 2)?;
    let lower = rising.get((rising.len() - 1) / 2).copied()?;
    Some(if rising.len().is_multiple_of(2) {
        f64::midpoint(lower, upper)
    } else {
        upper
    })
}

/// A quantile of rising numbers, straight between the two that stand beside it; `None` of none.
///
/// # Range
/// `share` from 0, the least number, to 1, the greatest.
///
/// # Source
/// Definition 7 of Hyndman and Fan 1996, The American Statistician 50:361-365.
#[must_use]
pub fn quantile_of_rising(rising: &[f64], share: f64) -> Option<f64> {
    let last = rising.len().checked_sub(1)?;
    let at = share.clamp(0.0, 1.0) * last as f64;
    let (below, above) = (at.floor() as usize, at.ceil() as usize);
    let (lower, upper) = (rising.get(below)?, rising.get(above)?);
    Some(lower + (at - at.floor()) * (upper - lower))
}

#[cfg(test)]
mod tests {
    use super::{median, median_of_rising, quantile_of_rising};

    /// By the definition: 0.05 of five gaps is 0.25 of the first, 0.25 of them a quarter of the second.
    #[test]
    fn shares_lie_straight_between_neighbours() {
        let rising = [0.5, 1.25, 2.0, 3.5, 7.0, 11.0];
        let mut mixed = [7.0, 0.5, 3.5, 11.0, 1.25, 2.0];
        assert_eq!(median(&mut mixed), Some(2.75));
        assert_eq!(median_of_rising(&rising), Some(2.75));
        assert_eq!(quantile_of_rising(&rising, 0.05), Some(0.6875));
        assert_eq!(quantile_of_rising(&rising, 0.25), Some(1.4375));
        assert_eq!(quantile_of_rising(&rising, 1.0), Some(11.0));
    }

    #[test]
    fn one_number_is_its_own_share_and_none_have_none() {
        assert_eq!(median_of_rising(&[4.0]), Some(4.0));
        assert_eq!(quantile_of_rising(&[4.0], 0.3), Some(4.0));
        assert_eq!(median_of_rising(&[]), None);
        assert_eq!(quantile_of_rising(&[], 0.5), None);
        assert_eq!(median(&mut [f64::INFINITY, 1.0]), Some(f64::INFINITY));
    }
}
