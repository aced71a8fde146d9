use crate::rulebook::Side;

/// Probability that the truth lies past a threshold, where the estimate errs normally with a standard error.
///
/// # Range
/// 0 to 1; 0.5 where the standard error is not known.
///
/// # Source
/// Normal distribution; its integral by the error function of `libm` (after the C library of FreeBSD).
pub(super) fn probability_past(value: f64, threshold: f64, standard_error: f64, side: Side) -> f64 {
    let past = match side {
        Side::Below => threshold - value,
        Side::Above => value - threshold,
    };
    if !standard_error.is_finite() || !past.is_finite() {
        return 0.5;
    }
    if standard_error <= 0.0 {
        return if past > 0.0 { 1.0 } else { 0.0 };
    }
    0.5 * libm::erfc(-past / standard_error / std::f64::consts::SQRT_2)
}

/// Half the width of a 90 % interval of a mean with a standard error; nothing where that is not known.
///
/// # Source
/// Normal distribution, 1.6449 standard errors.
pub(super) fn half_width_90(standard_error: f64) -> f64 {
    if standard_error.is_finite() {
        1.6449 * standard_error
    } else {
        0.0
    }
}

/// Percent of tries, and its standard error in percent, from hits among tries. One hit and one miss are thought of
/// besides, so that three of three is not taken for certain.
///
/// # Source
/// Laplace's rule of succession.
pub(super) fn share_with_standard_error(hits: usize, tries: usize) -> (f64, f64) {
    let (hits, tries) = (hits as f64 + 1.0, tries as f64 + 2.0);
    let share = hits / tries;
    (
        100.0 * share,
        100.0 * (share * (1.0 - share) / tries).sqrt(),
    )
}

#[cfg(test)]
#[path = "confidence_tests.rs"]
mod tests;
