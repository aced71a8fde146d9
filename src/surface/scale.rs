use std::borrow::Cow;

use super::left_out::LeftOut;
use super::sites::Sites;

/// Least skewness of values that are worked in logarithms (own).
const SKEWED: f64 = 1.0;

/// Phosphorus and its like are skewed: there a high value is common, and logarithms tell better what is odd and what is usual.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Scale {
    /// As measured.
    Plain,
    /// Natural logarithms.
    Logarithm,
}

impl Scale {
    /// The scale for the values of some places: logarithms where all are above zero, skewed to the right, and less skewed in logarithms.
    /// `values` go by observation.
    pub(super) fn of(left_out: &LeftOut, sites: &Sites, values: &[f64]) -> Self {
        let value = |&site: &u32| values[sites.source[site as usize] as usize];
        let seen: Vec<f64> = left_out.sites.iter().map(value).collect();
        if seen.iter().any(|value| *value <= 0.0) {
            return Self::Plain;
        }
        let skewed = skewness(&seen);
        if skewed > SKEWED && skewness(&Self::Logarithm.taken(&seen)).abs() < skewed {
            Self::Logarithm
        } else {
            Self::Plain
        }
    }

    /// Values on this scale.
    pub(super) fn taken(self, values: &[f64]) -> Cow<'_, [f64]> {
        match self {
            Self::Plain => Cow::Borrowed(values),
            Self::Logarithm => values.iter().map(|value| libm::log(*value)).collect(),
        }
    }

    /// A value of this scale as measured.
    pub(super) fn back(self, value: f64) -> f64 {
        match self {
            Self::Plain => value,
            Self::Logarithm => libm::exp(value),
        }
    }
}

fn skewness(numbers: &[f64]) -> f64 {
    let n = numbers.len() as f64;
    let mean = numbers.iter().sum::<f64>() / n;
    let moment = |power: i32| numbers.iter().map(|v| (v - mean).powi(power)).sum::<f64>() / n;
    let (second, third) = (moment(2), moment(3));
    if second > 0.0 {
        third / second.powf(1.5)
    } else {
        0.0
    }
}

#[cfg(test)]
#[path = "scale_tests.rs"]
mod tests;
