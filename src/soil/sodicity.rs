use super::SoilError;
use super::error::{exchange_capacity, within};
use super::gypsum::GRAMS_GYPSUM_PER_EQUIVALENT;
use crate::units::{Length, MassPerArea};

const RULE: &str = "the saturated-paste extract";

/// Grams of elemental sulfur in one equivalent of the acid that it turns into: half of 32.06.
const GRAMS_SULFUR_PER_EQUIVALENT: f64 = 16.03;

/// Sodium adsorption ratio, `Na / sqrt((Ca + Mg) / 2)`.
///
/// # Units
/// meq/L of the saturated-paste extract.
///
/// # Range
/// Each 0 to 5,000 meq/L; calcium plus magnesium above 0.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// USDA NRCS definition as given by UC Davis Soil Web, "Sodium adsorption ratio".
///
/// # Example
/// ```
/// assert_eq!(lowstave::soil::sodium_adsorption_ratio(36.0, 6.0, 2.0), Ok(18.0));
/// ```
pub fn sodium_adsorption_ratio(
    sodium_meq_l: f64,
    calcium_meq_l: f64,
    magnesium_meq_l: f64,
) -> Result<f64, SoilError> {
    let sodium = within(sodium_meq_l, "sodium", "meq/L", 0.0..=5_000.0, RULE)?;
    let calcium = within(calcium_meq_l, "calcium", "meq/L", 0.0..=5_000.0, RULE)?;
    let magnesium = within(magnesium_meq_l, "magnesium", "meq/L", 0.0..=5_000.0, RULE)?;
    let divalent = within(
        calcium + magnesium,
        "calcium plus magnesium",
        "meq/L",
        1.0e-6..=10_000.0,
        RULE,
    )?;
    Ok(sodium / (divalent / 2.0).sqrt())
}

/// Exchangeable sodium percentage, `100 x exchangeable Na / CEC`.
///
/// # Units
/// Both in meq/100 g; the sodium without what is dissolved in the soil's water.
///
/// # Range
/// CEC 0.5 to 200 meq/100 g; sodium not more than the CEC.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Ali 2011, "Practices of Irrigation and On-farm Water Management", Springer.
pub fn exchangeable_sodium_pct(
    sodium_meq: f64,
    cation_exchange_capacity_meq: f64,
) -> Result<f64, SoilError> {
    let capacity = exchange_capacity(cation_exchange_capacity_meq, "exchangeable sodium")?;
    let sodium = within(
        sodium_meq,
        "exchangeable sodium",
        "meq/100 g",
        0.0..=capacity,
        "exchangeable sodium",
    )?;
    Ok(100.0 * sodium / capacity)
}

/// Exchangeable sodium percentage estimated from the sodium adsorption ratio.
///
/// `ESP = 100 (-0.0126 + 0.01475 SAR) / (1 - 0.0126 + 0.01475 SAR)`, 0 where negative. SAR 13 is ESP 15.2: the two thresholds agree.
///
/// # Range
/// SAR 0 to 68.6, where ESP is 50.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// United States Salinity Laboratory 1954, USDA Handbook 60, regression; from memory.
pub fn exchangeable_sodium_pct_from_sar(sodium_adsorption_ratio: f64) -> Result<f64, SoilError> {
    let sar = within(
        sodium_adsorption_ratio,
        "SAR",
        "",
        0.0..=68.6,
        "the regression of Handbook 60",
    )?;
    let ratio = -0.0126 + 0.01475 * sar;
    Ok((100.0 * ratio / (1.0 + ratio)).max(0.0))
}

/// Dissolved sodium that an exchange extract picks up, to be taken off before ESP or CEC is figured, meq/100 g.
///
/// # Units
/// Sodium of the saturated-paste extract in meq/L; water content of that paste in % of dry soil.
///
/// # Range
/// Sodium 0 to 5,000 meq/L; saturation percentage 10 to 200 %.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// United States Salinity Laboratory 1954, USDA Handbook 60; from memory.
pub fn soluble_sodium_meq(sodium_meq_l: f64, saturation_percentage: f64) -> Result<f64, SoilError> {
    let sodium = within(sodium_meq_l, "sodium", "meq/L", 0.0..=5_000.0, RULE)?;
    let water = within(
        saturation_percentage,
        "the saturation percentage",
        "%",
        10.0..=200.0,
        RULE,
    )?;
    Ok(sodium * water / 1_000.0)
}

/// Exchangeable sodium that must go for a lower ESP, meq/100 g; 0 where the ESP is low enough.
///
/// # Range
/// CEC 0.5 to 200 meq/100 g; both ESP 0 to 100 %.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Ali 2011, "Practices of Irrigation and On-farm Water Management", example 8.7: CEC 22, ESP 35 to 15 is 4.4 meq/100 g.
pub fn sodium_to_replace_meq(
    cation_exchange_capacity_meq: f64,
    esp_now_pct: f64,
    esp_wanted_pct: f64,
) -> Result<f64, SoilError> {
    let rule = "the gypsum requirement";
    let capacity = exchange_capacity(cation_exchange_capacity_meq, rule)?;
    let now = within(esp_now_pct, "ESP", "%", 0.0..=100.0, rule)?;
    let wanted = within(esp_wanted_pct, "the ESP wanted", "%", 0.0..=100.0, rule)?;
    Ok(capacity * (now - wanted).max(0.0) / 100.0)
}

/// Pure gypsum that replaces exchangeable sodium, gram for equivalent.
///
/// 1 meq/100 g is 1.72 short tons per acre-foot of 4,000,000 lb. No allowance for the field: multiply by 1.1 to 1.3. Without
/// drainage and leaching water gypsum does nothing for sodium.
///
/// # Units
/// Sodium in meq/100 g; soil from [`super::soil_mass`].
///
/// # Range
/// 0 to 60 meq/100 g.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Stoichiometry (86.09 g gypsum per equivalent); 1.7 t/ac-ft: Ali 2011, "Practices of Irrigation and On-farm Water
/// Management"; series 1.7, 3.4, 5.2 ... 17.2: USDA Handbook 60, table 6, from memory.
pub fn gypsum_for_sodium(
    sodium_to_replace_meq: f64,
    soil: MassPerArea,
) -> Result<MassPerArea, SoilError> {
    Ok(soil
        * (equivalents_per_kilogram(sodium_to_replace_meq)? * GRAMS_GYPSUM_PER_EQUIVALENT
            / 1_000.0))
}

/// Elemental sulfur that would do the work of the gypsum, where the soil holds free lime for the acid to dissolve.
///
/// # Units
/// As [`gypsum_for_sodium`].
///
/// # Errors
/// [`SoilError`] outside the range of [`gypsum_for_sodium`].
///
/// # Source
/// Stoichiometry (16.03 g sulfur per equivalent).
pub fn sulfur_for_sodium(
    sodium_to_replace_meq: f64,
    soil: MassPerArea,
) -> Result<MassPerArea, SoilError> {
    Ok(soil
        * (equivalents_per_kilogram(sodium_to_replace_meq)? * GRAMS_SULFUR_PER_EQUIVALENT
            / 1_000.0))
}

fn equivalents_per_kilogram(sodium_meq: f64) -> Result<f64, SoilError> {
    Ok(within(
        sodium_meq,
        "sodium to replace",
        "meq/100 g",
        0.0..=60.0,
        "the gypsum requirement",
    )? / 100.0)
}

/// What the gypsum requirement of Oster asks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SodicSoil {
    /// Allowance for the field, 1.1 to 1.3.
    pub field_factor: f64,
    /// Depth to be reclaimed.
    pub depth: Length,
    /// Bulk density, g/cm³ (Mg/m³).
    pub bulk_density_g_cm3: f64,
    /// Cation exchange capacity, meq/100 g.
    pub cation_exchange_capacity_meq: f64,
    /// Exchangeable sodium percentage now. SAR may stand in below 50.
    pub esp_now_pct: f64,
    /// Exchangeable sodium percentage wanted.
    pub esp_wanted_pct: f64,
    /// Purity of the gypsum in percent: 90, not 0.90.
    pub purity_pct: f64,
}

/// Gypsum requirement in the form of Oster.
///
/// `GR (Mg/ha) = 8.6 F D(m) BD(Mg/m³) CEC (ESP now - ESP wanted) / purity(%)`; dry product, see [`super::gypsum_product`] for a moist one.
///
/// # Range
/// Field factor 1.0 to 1.5; depth to 1.5 m; bulk density 0.5 to 2.0; CEC 0.5 to 200; ESP 0 to 50; purity 10 to 100 % (a fraction is refused).
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Oster et al. 1999, as published by North Dakota State University, "Gypsum requirement".
pub fn gypsum_requirement_oster(soil: &SodicSoil) -> Result<MassPerArea, SoilError> {
    let rule = "the gypsum requirement of Oster";
    let factor = within(soil.field_factor, "the field factor", "", 1.0..=1.5, rule)?;
    let depth = within(soil.depth.metres(), "the depth", "m", 0.0..=1.5, rule)?;
    let density = within(
        soil.bulk_density_g_cm3,
        "bulk density",
        "g/cm3",
        0.5..=2.0,
        rule,
    )?;
    let capacity = exchange_capacity(soil.cation_exchange_capacity_meq, rule)?;
    let now = within(soil.esp_now_pct, "ESP", "%", 0.0..=50.0, rule)?;
    let wanted = within(soil.esp_wanted_pct, "the ESP wanted", "%", 0.0..=50.0, rule)?;
    let purity = within(soil.purity_pct, "purity", "%", 10.0..=100.0, rule)?;
    let tonnes = 8.6 * factor * depth * density * capacity * (now - wanted).max(0.0) / purity;
    Ok(MassPerArea::from_kilograms_per_hectare(tonnes * 1_000.0))
}
