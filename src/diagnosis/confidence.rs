use crate::rulebook::Side;

/// How an estimate errs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Law {
    /// As a normal value does.
    Normal,
    /// As a lognormal value does: never below zero, and farther above than below.
    Lognormal,
}

/// An estimate on the scale on which it errs normally.
struct OnScale {
    middle: f64,
    standard_error: f64,
}

impl Law {
    /// The law of a layer.
    pub(super) fn of(is_skewed: bool) -> Self {
        if is_skewed {
            Self::Lognormal
        } else {
            Self::Normal
        }
    }

    /// # Source
    /// Mean and variance of a lognormal value: Aitchison, J. and J.A.C. Brown. 1957. The Lognormal Distribution. Cambridge
    /// University Press (from memory).
    fn scaled(self, value: f64, standard_error: f64) -> OnScale {
        match self {
            Self::Lognormal if value > 0.0 => {
                let variance = libm::log1p((standard_error / value).powi(2));
                OnScale {
                    middle: libm::log(value) - variance / 2.0,
                    standard_error: variance.sqrt(),
                }
            }
            _ => OnScale {
                middle: value,
                standard_error,
            },
        }
    }

    fn is_lognormal_at(self, value: f64) -> bool {
        self == Self::Lognormal && value > 0.0
    }
}

/// Probability that the truth lies past a threshold, where the estimate errs by a law with a standard error.
///
/// # Range
/// 0 to 1; 0.5 where the standard error is not known.
///
/// # Source
/// Normal distribution; its integral by the error function of `libm` (after the C library of FreeBSD).
pub(super) fn probability_past(
    value: f64,
    threshold: f64,
    standard_error: f64,
    side: Side,
    law: Law,
) -> f64 {
    if !standard_error.is_finite() || !value.is_finite() || !threshold.is_finite() {
        return 0.5;
    }
    let here = law.scaled(value, standard_error);
    // Below zero the logarithm ends: nothing lies there.
    let threshold = if law.is_lognormal_at(value) {
        libm::log(threshold.max(0.0))
    } else {
        threshold
    };
    let past = match side {
        Side::Below => threshold - here.middle,
        Side::Above => here.middle - threshold,
    };
    if here.standard_error <= 0.0 {
        return if past > 0.0 { 1.0 } else { 0.0 };
    }
    0.5 * libm::erfc(-past / here.standard_error / std::f64::consts::SQRT_2)
}

/// Ends of a 90 % interval of a mean with a standard error; the mean itself where that is not known.
///
/// # Source
/// Normal distribution, 1.6449 standard errors.
pub(super) fn interval_90(value: f64, standard_error: f64, law: Law) -> (f64, f64) {
    if !standard_error.is_finite() {
        return (value, value);
    }
    let here = law.scaled(value, standard_error);
    let half = 1.6449 * here.standard_error;
    let (low, high) = (here.middle - half, here.middle + half);
    if law.is_lognormal_at(value) {
        (libm::exp(low), libm::exp(high))
    } else {
        (low, high)
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
