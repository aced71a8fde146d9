use crate::soil::SoilError;
use crate::soil::error::within;

const RULE: &str = "the Minnesota lime rule of 2002";

/// Lime requirement of Minnesota: 500 lb of effective neutralizing power (ENP) per acre for each 0.1 of buffer pH below 7.0.
///
/// # Units
/// Result in lb ENP per acre.
///
/// # Range
/// Water pH 3.5 to below 6.0 (the buffer is not run above); buffer pH 4.8 to 7.5.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// University of Minnesota Extension, crop e-news, 2002. An older page; newer Minnesota tables may differ. That the buffer is run below pH 6.0, and is
/// the Sikora buffer now: University of Minnesota Soil Testing Laboratory, "Soil pH and lime requirement".
pub fn minnesota_pounds_enp_per_acre(water_ph: f64, buffer_ph: f64) -> Result<f64, SoilError> {
    within(water_ph, "pH in water", "", 3.5..=5.999_999, RULE)?;
    let buffer = within(buffer_ph, "buffer pH", "", 4.8..=7.5, RULE)?;
    Ok((5_000.0 * (7.0 - buffer)).max(0.0))
}
