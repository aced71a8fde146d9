use crate::soil::SoilError;
use crate::soil::error::within;
use crate::units::Pressure;

/// Base diameters of the two standard 30 degree cones, mm: 20.27 for soft soil, 12.83 for hard.
///
/// # Source
/// ASAE S313.3 and EP542, as given by the USDA Forest Service, "Penetrometer operating and testing standards".
pub const CONE_DIAMETERS_MM: [f64; 2] = [20.27, 12.83];

/// Base area of a cone, mm². Reading the wrong cone's scale is a factor of 2.5.
///
/// # Range
/// Diameter 5 to 40 mm.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Area of a circle; diameters as at [`CONE_DIAMETERS_MM`]: 322.7 and 129.3 mm², 0.5 and 0.2 in².
pub fn cone_base_area_mm2(diameter_mm: f64) -> Result<f64, SoilError> {
    let diameter = within(
        diameter_mm,
        "the cone's base diameter",
        "mm",
        5.0..=40.0,
        "a cone penetrometer",
    )?;
    Ok(std::f64::consts::PI * diameter * diameter / 4.0)
}

/// Cone index from the force on the cone: force over base area.
///
/// # Units
/// Newtons and mm².
///
/// # Range
/// Force 0 to 10,000 N; area 20 to 1,300 mm².
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// ASAE S313.3, as given by the USDA Forest Service, "Penetrometer operating and testing standards".
///
/// # Example
/// ```
/// let pressure = lowstave::soil::cone_index_from_force(645.4, 322.7).unwrap();
/// assert!((pressure.kilopascals() - 2_000.0).abs() < 1.0);
/// ```
pub fn cone_index_from_force(
    force_newtons: f64,
    base_area_mm2: f64,
) -> Result<Pressure, SoilError> {
    let force = within(
        force_newtons,
        "the force on the cone",
        "N",
        0.0..=10_000.0,
        "a cone penetrometer",
    )?;
    let area = within(
        base_area_mm2,
        "the cone's base area",
        "mm2",
        20.0..=1_300.0,
        "a cone penetrometer",
    )?;
    Ok(Pressure::from_kilopascals(force / area * 1_000.0))
}

/// Diameter at which a cone must be replaced: worn by more than 3 %.
///
/// # Range
/// Diameter 5 to 40 mm.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// ASAE S313.3, as given by the USDA Forest Service, "Penetrometer operating and testing standards".
pub fn worn_out_diameter_mm(new_diameter_mm: f64) -> Result<f64, SoilError> {
    Ok(0.97
        * within(
            new_diameter_mm,
            "the cone's base diameter",
            "mm",
            5.0..=40.0,
            "a cone penetrometer",
        )?)
}

/// Whether a measured cone is worn out.
///
/// # Errors
/// [`SoilError`] outside the range of [`worn_out_diameter_mm`].
///
/// # Source
/// As [`worn_out_diameter_mm`].
pub fn is_cone_worn_out(new_diameter_mm: f64, measured_mm: f64) -> Result<bool, SoilError> {
    let measured = within(
        measured_mm,
        "the measured diameter",
        "mm",
        1.0..=40.0,
        "a cone penetrometer",
    )?;
    Ok(measured < worn_out_diameter_mm(new_diameter_mm)?)
}
