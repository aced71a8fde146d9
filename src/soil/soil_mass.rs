use super::SoilError;
use super::customary::{in_inches, pounds_per_acre};
use super::error::within;
use crate::units::{Length, MassPerArea};

/// Pounds of soil in an acre-inch by the trade: 2,000,000 lb in 6 2/3 in, 2,400,000 lb in 8 in.
///
/// # Source
/// Penn State Agronomy Guide, "Soil fertility: interpreting the results" (ppm x 2); UC Davis Analytical Laboratory,
/// "Lime requirement" (2.4 million lb at 8 in). The density implied is 1.324 g/cm³.
pub const TRADE_POUNDS_PER_ACRE_INCH: f64 = 300_000.0;

/// Mass of a layer of mineral soil.
///
/// Without a bulk density the trade's 300,000 lb per acre-inch is used.
///
/// # Units
/// Thickness of the layer in any unit; bulk density in g/cm³.
///
/// # Range
/// Thickness up to 1.5 m; bulk density 0.2 to 2.0 g/cm³ (mineral soils about 1.0 to 1.6; organic soils must be measured).
///
/// # Errors
/// [`SoilError::OutOfRange`] and [`SoilError::NotANumber`] outside the range.
///
/// # Source
/// Thickness times density; trade mass as at [`TRADE_POUNDS_PER_ACRE_INCH`].
///
/// # Example
/// ```
/// use lowstave::soil::{nutrient_mass, soil_mass};
/// use lowstave::units::{Length, Quantity};
/// let layer = Length::parse("8 in").unwrap();
/// let trade = nutrient_mass(22.0, soil_mass(layer, None).unwrap()).unwrap();
/// assert!((trade.in_unit("lb/ac").unwrap() - 52.8).abs() < 1e-9);
/// let measured = nutrient_mass(22.0, soil_mass(layer, Some(1.20)).unwrap()).unwrap();
/// assert!((measured.in_unit("lb/ac").unwrap() - 47.86).abs() < 0.01);
/// ```
pub fn soil_mass(
    thickness: Length,
    bulk_density_g_cm3: Option<f64>,
) -> Result<MassPerArea, SoilError> {
    let metres = within(
        thickness.metres(),
        "the thickness of the layer",
        "m",
        0.001..=1.5,
        "the mass of a soil layer",
    )?;
    match bulk_density_g_cm3 {
        Some(density) => {
            let density = within(
                density,
                "bulk density",
                "g/cm3",
                0.2..=2.0,
                "the mass of a soil layer",
            )?;
            Ok(MassPerArea::from_kilograms_per_hectare(
                metres * density * 1.0e7,
            ))
        }
        None => Ok(pounds_per_acre(
            TRADE_POUNDS_PER_ACRE_INCH * in_inches(thickness),
        )),
    }
}

/// Mass of a nutrient in a layer of soil.
///
/// # Units
/// Concentration in ppm (mg/kg); the layer from [`soil_mass`].
///
/// # Range
/// 0 to 1,000,000 ppm.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition of a part per million.
pub fn nutrient_mass(concentration_ppm: f64, soil: MassPerArea) -> Result<MassPerArea, SoilError> {
    let ppm = within(
        concentration_ppm,
        "the concentration",
        "ppm",
        0.0..=1.0e6,
        "a share of the soil's mass",
    )?;
    Ok(soil * (ppm * 1.0e-6))
}

/// Concentration in ppm of a nutrient whose mass in the layer is known.
///
/// # Range
/// Mass not negative and not more than the soil's.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition of a part per million.
pub fn nutrient_ppm(nutrient: MassPerArea, soil: MassPerArea) -> Result<f64, SoilError> {
    let share = nutrient.kilograms_per_hectare() / soil.kilograms_per_hectare();
    within(
        share * 1.0e6,
        "the concentration",
        "ppm",
        0.0..=1.0e6,
        "a share of the soil's mass",
    )
}
