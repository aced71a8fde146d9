use crate::soil::SoilError;
use crate::soil::error::within;

const RULE: &str = "the Adams-Evans lime rule";
/// pH of a soil whose acid saturation is 1 and 0.
const PH_RANGE: std::ops::RangeInclusive<f64> = 4.51..=7.79;

/// Acid saturation, a fraction 0 to 1, of a coarse soil at a water pH: the root of `pH = 7.79 - 5.55 H + 2.27 H²`.
///
/// # Range
/// pH 4.51 (H = 1) to 7.79 (H = 0).
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Adams and Evans 1962, "A rapid method for measuring lime requirement of Red-Yellow Podzolic soils", Soil Sci. Soc. Am. Proc. 26:355-357;
/// coefficients from memory.
pub fn adams_evans_acid_saturation(water_ph: f64) -> Result<f64, SoilError> {
    let ph = within(water_ph, "pH in water", "", PH_RANGE, RULE)?;
    let under_root: f64 = 5.55 * 5.55 - 4.0 * 2.27 * (7.79 - ph);
    Ok(((5.55 - under_root.max(0.0).sqrt()) / (2.0 * 2.27)).clamp(0.0, 1.0))
}

/// Lime requirement by the Adams-Evans buffer.
///
/// `lb/ac = 8000 x (8.00 - buffer pH) / H1 x (H1 - H2) x 1.5` with the acid saturations of the soil's and the target pH.
///
/// # Units
/// Result in lb of calcium carbonate per acre on 2,000,000 lb of soil (6 2/3 in), its factor of 1.5 for field conditions included.
///
/// # Range
/// Water pH and target 4.51 to 7.79; buffer pH 6.4 to 8.5; a CEC, `8 x (8.00 - buffer pH) / H1`, below 13 meq/100 g.
/// 0 at and above the target.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Adams and Evans 1962, Soil Sci. Soc. Am. Proc. 26:355-357, from memory; CEC limit: Auburn University, "Determination of soil lime
/// requirement by the Adams-Evans buffer".
pub fn adams_evans_pounds_per_acre(
    water_ph: f64,
    buffer_ph: f64,
    target_ph: f64,
) -> Result<f64, SoilError> {
    let buffer = within(buffer_ph, "buffer pH", "", 6.4..=8.5, RULE)?;
    let target = adams_evans_acid_saturation(target_ph)?;
    if within(water_ph, "pH in water", "", 3.5..=9.0, RULE)? >= target_ph {
        return Ok(0.0);
    }
    let now = adams_evans_acid_saturation(water_ph)?;
    let capacity = 8.0 * (8.0 - buffer).max(0.0) / now;
    let capacity = within(
        capacity,
        "CEC from buffer pH and pH",
        "meq/100 g",
        0.0..=13.0,
        RULE,
    )?;
    Ok(1_000.0 * capacity * (now - target) * 1.5)
}
