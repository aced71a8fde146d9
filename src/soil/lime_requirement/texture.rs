use crate::soil::SoilError;
use crate::soil::error::within;
use crate::units::MassPerArea;

/// Ground limestone by texture and pH alone, where no buffer pH is known: a rough guide, not a rate.
///
/// `liming factor x (target - pH)`; nothing at and above the target.
///
/// # Units
/// The factor is limestone for each unit of pH: 6 t/ha on sand, 7 on loam, 8 on clay. pH in water.
///
/// # Range
/// pH 2.5 to 11, target 4.5 to 7.5.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// United Kingdom liming factors (RB209, from memory). With the factor 6 and the target 6.7 it gives the 3.0, 4.2 and 7.2 t/ha that a
/// British trade table prints for pH 6.2, 6.0 and 5.5 on light land.
pub fn limestone_by_texture(
    factor: MassPerArea,
    water_ph: f64,
    target_ph: f64,
) -> Result<MassPerArea, SoilError> {
    let ph = within(water_ph, "pH in water", "", 2.5..=11.0, "a soil")?;
    let target = within(target_ph, "the target pH", "", 4.5..=7.5, "liming")?;
    Ok(factor * (target - ph).max(0.0))
}
