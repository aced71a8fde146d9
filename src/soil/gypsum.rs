use super::error::{exchange_capacity, within};
use super::{Cation, SoilError};
use crate::units::MassPerArea;

/// Calcium in pure gypsum, CaSO4·2H2O, as a share of mass (molar masses: 40.078 / 172.17).
pub const CALCIUM_IN_GYPSUM: f64 = 0.2328;
/// Sulfur in pure gypsum as a share of mass.
pub const SULFUR_IN_GYPSUM: f64 = 0.1862;
/// Grams of gypsum that hold one equivalent of calcium.
pub const GRAMS_GYPSUM_PER_EQUIVALENT: f64 = 86.08;

/// Calcium that would lift the calcium saturation of a layer, all of it held: a ceiling. Nothing where the saturation is high enough.
///
/// Trials have not shown a yield gain from the ratio itself once pH and each nutrient's sufficiency are met (Kopittke and Menzies
/// 2007, Soil Sci. Soc. Am. J. 71:259-265).
///
/// # Units
/// CEC in meq/100 g, saturations in %, soil from [`super::soil_mass`].
///
/// # Range
/// CEC 0.5 to 200 meq/100 g; saturations 0 to 100 %.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition of saturation with 200 ppm Ca per meq/100 g (Crop Files 1.04-132); 400 lb/ac per meq on 2,000,000 lb (Clemson
/// University, "CEC calculations").
///
/// # Example
/// ```
/// use lowstave::soil::{calcium_to_raise_saturation, gypsum_for_calcium, soil_mass};
/// use lowstave::units::{Length, Quantity};
/// let soil = soil_mass(Length::from_metres(0.0254 * 20.0 / 3.0), None).unwrap();
/// let calcium = calcium_to_raise_saturation(12.0, 58.0, 65.0, soil).unwrap();
/// assert!((calcium.in_unit("lb/ac").unwrap() - 336.0).abs() < 1e-6);
/// let product = gypsum_for_calcium(calcium, 90.0, 0.0).unwrap();
/// assert!((product.in_unit("lb/ac").unwrap() - 1_604.0).abs() < 1.0);
/// ```
pub fn calcium_to_raise_saturation(
    cation_exchange_capacity_meq: f64,
    calcium_now_pct: f64,
    calcium_wanted_pct: f64,
    soil: MassPerArea,
) -> Result<MassPerArea, SoilError> {
    let rule = "the calcium deficit";
    let capacity = exchange_capacity(cation_exchange_capacity_meq, rule)?;
    let now = within(
        calcium_now_pct,
        "calcium saturation",
        "%",
        0.0..=100.0,
        rule,
    )?;
    let wanted = within(
        calcium_wanted_pct,
        "the calcium saturation wanted",
        "%",
        0.0..=100.0,
        rule,
    )?;
    let meq = capacity * (wanted - now).max(0.0) / 100.0;
    Ok(soil * (meq * Cation::Calcium.ppm_per_meq() * 1.0e-6))
}

/// Gypsum product that brings an amount of calcium.
///
/// # Range
/// As [`gypsum_product`].
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Molar masses; that gypsum supplies calcium and sulfate and leaves pH as it is: Ohio State University, "Amending soils with lime or gypsum".
pub fn gypsum_for_calcium(
    calcium: MassPerArea,
    purity_pct: f64,
    moisture_pct: f64,
) -> Result<MassPerArea, SoilError> {
    gypsum_product(
        calcium * (1.0 / CALCIUM_IN_GYPSUM),
        purity_pct,
        moisture_pct,
    )
}

/// Product as it lies in the heap that holds an amount of pure gypsum.
///
/// # Units
/// Purity in percent of dry product; moisture in percent of the moist product.
///
/// # Range
/// Purity 10 to 100 % (a fraction such as 0.90 is refused); moisture 0 to 60 %.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition. For 20 % moisture North Dakota State University, "Gypsum requirement", prints x 1.2; exact is 1 / 0.8 = 1.25.
pub fn gypsum_product(
    pure: MassPerArea,
    purity_pct: f64,
    moisture_pct: f64,
) -> Result<MassPerArea, SoilError> {
    let purity = within(purity_pct, "purity", "%", 10.0..=100.0, "a gypsum product")?;
    let moisture = within(
        moisture_pct,
        "moisture",
        "%",
        0.0..=60.0,
        "a gypsum product",
    )?;
    Ok(pure * (100.0 / purity / (1.0 - moisture / 100.0)))
}

/// Sulfur that rides along with an amount of pure gypsum.
#[must_use]
pub fn sulfur_in_gypsum(pure: MassPerArea) -> MassPerArea {
    pure * SULFUR_IN_GYPSUM
}
