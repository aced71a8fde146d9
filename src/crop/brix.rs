//! The reading of a refractometer and its temperature.

use super::stand::bracket;

/// What is added to a reading at a temperature, percent Brix: below 20 C it is negative. `None` outside the temperatures of the table; outside its
/// readings the nearest column holds.
///
/// # Units
/// Degrees Celsius, percent Brix.
///
/// # Source
/// Straight lines between the entries of the table, which is the rulebook's: OIV compendium below 20 C.
#[must_use]
pub fn temperature_correction(
    (degrees, at, correction): (&[f64], &[f64], &[Vec<f64>]),
    celsius: f64,
    brix: f64,
) -> Option<f64> {
    let (row, down) = bracket(degrees, celsius)?;
    let brix = brix.clamp(*at.first()?, *at.last()?);
    let (column, right) = bracket(at, brix)?;
    let of_row = |row: usize| {
        let cells = correction.get(row)?;
        let left = *cells.get(column)?;
        let next = cells.get(column + 1).copied().unwrap_or(left);
        Some(left + right * (next - left))
    };
    let above = of_row(row)?;
    let below = if down > 0.0 { of_row(row + 1)? } else { above };
    Some(above + down * (below - above))
}
