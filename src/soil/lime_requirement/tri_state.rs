use super::oregon::between_targets;
use crate::soil::SoilError;
use crate::soil::error::within;

const RULE: &str = "the Tri-State lime rule of 1995";

/// Target pH, intercept and slope of `tons/ac = intercept - slope x lime test index`.
const LINES: [(f64, f64, f64); 3] = [(6.0, 49.3, 0.71), (6.5, 60.4, 0.87), (6.8, 71.4, 1.03)];

/// Lime requirement of Ohio, Michigan and Indiana by the SMP buffer, 1995 edition.
///
/// The lime test index is 10 x buffer pH. To pH 6.8: 71.4 - 1.03 LTI; 6.5: 60.4 - 0.87 LTI; 6.0: 49.3 - 0.71 LTI. Between these
/// targets the rate is interpolated (own). 0 where an equation is negative and at and above the target. From LTI 68.75 the lines cross
/// by up to 0.1 t/ac; a higher target never gets less than a lower one (own).
///
/// # Units
/// Result in short tons per acre over 8 in of a lime with neutralizing value 90.
///
/// # Range
/// Buffer pH 6.0 to 7.5; water pH 3.5 to 9; target 6.0 to 6.8; mineral soil.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Vitosh, Johnson and Mengel 1995, "Tri-State Fertilizer Recommendations for Corn, Soybeans, Wheat and Alfalfa", Extension
/// Bulletin E-2567: depth, neutralizing value and the half rate for 4 in as printed; equations from memory. The 2020
/// edition (Bulletin 974) has other, state-specific equations: lower in Ohio, higher in Michigan and Indiana.
pub fn tri_state_1995_tons_per_acre(
    water_ph: f64,
    buffer_ph: f64,
    target_ph: f64,
) -> Result<f64, SoilError> {
    let index = 10.0 * within(buffer_ph, "buffer pH", "", 6.0..=7.5, RULE)?;
    let target = within(target_ph, "the target pH", "", 6.0..=6.8, RULE)?;
    if within(water_ph, "pH in water", "", 3.5..=9.0, RULE)? >= target {
        return Ok(0.0);
    }
    let mut most: f64 = 0.0;
    let rates = LINES.map(|(target, intercept, slope)| {
        most = most.max(intercept - slope * index);
        (target, most)
    });
    Ok(between_targets(&rates, target))
}
