use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// Share of Student's t distribution below a value.
///
/// # Range
/// Degrees of freedom above 0, whole or not; NaN otherwise.
#[must_use]
pub fn student_t_cdf(t: f64, degrees_of_freedom: f64) -> f64 {
    StudentsT::new(0.0, 1.0, degrees_of_freedom).map_or(f64::NAN, |law| law.cdf(t))
}

/// The value below which a share of Student's t distribution lies.
///
/// # Range
/// Share above 0 and below 1, degrees of freedom above 0, whole or not; NaN otherwise.
#[must_use]
pub fn student_t_quantile(share: f64, degrees_of_freedom: f64) -> f64 {
    if !(share > 0.0 && share < 1.0) {
        return f64::NAN;
    }
    StudentsT::new(0.0, 1.0, degrees_of_freedom).map_or(f64::NAN, |law| law.inverse_cdf(share))
}

/// Share of the standard normal distribution below a value.
#[must_use]
pub fn normal_cdf(z: f64) -> f64 {
    Normal::standard().cdf(z)
}

/// The value below which a share of the standard normal distribution lies; NaN outside 0 to 1.
#[must_use]
pub fn normal_quantile(share: f64) -> f64 {
    if !(share > 0.0 && share < 1.0) {
        return f64::NAN;
    }
    Normal::standard().inverse_cdf(share)
}
