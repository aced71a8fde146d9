//! Warmth from planting to emergence.

/// Growing degree days of one day for corn: the mean of the day's highest and lowest temperature, each held inside 50 and 86 F, less 50.
///
/// # Units
/// Degrees Fahrenheit.
///
/// # Source
/// Modified growing degree days, base 50, ceiling 86 (land-grant usage): `(min(max, 86) + max(min, 50)) / 2 - 50`.
#[must_use]
pub fn growing_degree_days(highest: f64, lowest: f64) -> f64 {
    const BASE: f64 = 50.0;
    const CEILING: f64 = 86.0;
    let held = |degrees: f64| degrees.clamp(BASE, CEILING);
    f64::midpoint(held(highest), held(lowest)) - BASE
}
