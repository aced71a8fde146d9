use super::SoilError;
use super::error::{percent, within};
use crate::units::MassPerArea;

/// What a C:N ratio was made from. Ratios of different kinds are different quantities and never share a map.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum RatioKind {
    /// Total carbon over total nitrogen by dry combustion. On calcareous soil it counts carbonate.
    Total,
    /// Organic carbon over total nitrogen; bulk soil lies at about 8 to 12.
    Organic,
    /// Water-extractable organic carbon over water-extractable organic nitrogen, as soil-health panels print it.
    WaterExtract,
}

impl RatioKind {
    /// The name in kebab case, as a test method is written.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Total => "total",
            Self::Organic => "organic",
            Self::WaterExtract => "water-extract",
        }
    }
}

/// A carbon and a nitrogen result with the test that each came from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CarbonAndNitrogen {
    /// Carbon, in the unit of the nitrogen.
    pub carbon: f64,
    /// The ratio that this carbon belongs in.
    pub carbon_kind: RatioKind,
    /// Nitrogen, in the unit of the carbon.
    pub nitrogen: f64,
    /// The ratio that this nitrogen belongs in; total nitrogen serves [`RatioKind::Total`] and [`RatioKind::Organic`].
    pub nitrogen_kind: RatioKind,
}

/// C:N of one sample. The ratio of a field is the ratio of the means, not the mean of the ratios.
///
/// # Range
/// Carbon not negative, nitrogen above 0; the ratio 0 to 1,000.
///
/// # Errors
/// [`SoilError::NotComparable`] where carbon and nitrogen come from different extracts; [`SoilError`] outside the range.
///
/// # Source
/// USDA-ARS/NRCS Akron 2002, "Feeding the soil: carbon/nitrogen ratio" (bulk soil 8 to 12, microbes 5 to 10).
pub fn carbon_nitrogen_ratio(sample: &CarbonAndNitrogen) -> Result<f64, SoilError> {
    let is_extract = |kind| kind == RatioKind::WaterExtract;
    if is_extract(sample.carbon_kind) != is_extract(sample.nitrogen_kind) {
        return Err(SoilError::NotComparable {
            what: "carbon",
            found: format!("{} test", sample.carbon_kind.name()),
            wanted: format!("nitrogen by {} test", sample.nitrogen_kind.name()),
            help: "use carbon and nitrogen of the same extract",
        });
    }
    let rule = "a C:N ratio";
    let carbon = within(sample.carbon, "carbon", "", 0.0..=1.0e6, rule)?;
    let nitrogen = within(sample.nitrogen, "nitrogen", "", 1.0e-9..=1.0e6, rule)?;
    within(carbon / nitrogen, "the C:N ratio", "", 0.0..=1_000.0, rule)
}

/// How much nitrogen comes with the carbon of a material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CarbonSource {
    /// A material with this C:N ratio.
    WithRatio(f64),
    /// Pure sugar: no nitrogen.
    WithoutNitrogen,
}

/// Carbon to add so that a pool's C:N reaches a target: `(T N - C) / (1 - T / r)`; nothing where the ratio is wide enough.
///
/// Of the carbon added only some 10 to 20 % stays in the soil after some years, so a total C:N cannot be moved in a season, and sugar in
/// a water-extract pool is breathed away within days to weeks. Never figure a shift of the soil's C:N from a starter's sugar.
///
/// # Units
/// Carbon and nitrogen of the pool in the layer as mass per area.
///
/// # Range
/// Nitrogen above 0; target 4 to 100; material wider than the target.
///
/// # Errors
/// [`SoilError::RatioOutOfReach`] where the material's ratio is not above the target; [`SoilError`] outside the range.
///
/// # Source
/// Mass balance (own).
///
/// # Example
/// ```
/// use lowstave::soil::{CarbonSource, carbon_to_reach_ratio};
/// use lowstave::units::{MassPerArea, Quantity};
/// let lb = |text: &str| MassPerArea::parse(text).unwrap();
/// let straw = carbon_to_reach_ratio(lb("36000 lb/ac"), lb("3000 lb/ac"), 16.0, CarbonSource::WithRatio(80.0)).unwrap();
/// assert!((straw.in_unit("lb/ac").unwrap() - 15_000.0).abs() < 1e-6);
/// assert!(carbon_to_reach_ratio(lb("36000 lb/ac"), lb("3000 lb/ac"), 16.0, CarbonSource::WithRatio(16.0)).is_err());
/// ```
pub fn carbon_to_reach_ratio(
    carbon: MassPerArea,
    nitrogen: MassPerArea,
    target_ratio: f64,
    source: CarbonSource,
) -> Result<MassPerArea, SoilError> {
    let rule = "the carbon balance";
    let pool_carbon = within(
        carbon.kilograms_per_hectare(),
        "carbon of the pool",
        "kg/ha",
        0.0..=1.0e7,
        rule,
    )?;
    let pool_nitrogen = within(
        nitrogen.kilograms_per_hectare(),
        "nitrogen of the pool",
        "kg/ha",
        1.0e-6..=1.0e6,
        rule,
    )?;
    let target = within(target_ratio, "the C:N wanted", "", 4.0..=100.0, rule)?;
    let kept = match source {
        CarbonSource::WithoutNitrogen => 1.0,
        CarbonSource::WithRatio(material) => {
            let material = within(material, "the material's C:N", "", 1.0..=1.0e4, rule)?;
            if material <= target {
                return Err(SoilError::RatioOutOfReach { material, target });
            }
            1.0 - target / material
        }
    };
    Ok(MassPerArea::from_kilograms_per_hectare(
        (target * pool_nitrogen - pool_carbon).max(0.0) / kept,
    ))
}

/// C:N of the diet on which microbes neither release nor tie up nitrogen.
///
/// # Source
/// USDA NRCS, "Carbon to nitrogen ratios in cropping systems": of 24 parts carbon 16 are breathed and 8 kept, with 1 part nitrogen.
pub const MICROBIAL_DIET_RATIO: f64 = 24.0;

/// Nitrogen released (positive) or tied up (negative) when a plant material has rotted wholly: `C x (1 / CN - 1 / 24)`.
///
/// # Range
/// C:N 4 to 1,000; plant materials, not wood. A first season shows less.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Derived from USDA NRCS, "Carbon to nitrogen ratios in cropping systems" (efficiency 1/3, cell C:N 8).
///
/// # Example
/// ```
/// use lowstave::soil::net_nitrogen;
/// use lowstave::units::{MassPerArea, Quantity};
/// let straw = net_nitrogen(MassPerArea::parse("1000 lb/ac").unwrap(), 80.0).unwrap();
/// assert!((straw.in_unit("lb/ac").unwrap() + 29.17).abs() < 0.01);
/// ```
pub fn net_nitrogen(
    carbon: MassPerArea,
    carbon_nitrogen_ratio: f64,
) -> Result<MassPerArea, SoilError> {
    let ratio = within(
        carbon_nitrogen_ratio,
        "the material's C:N",
        "",
        4.0..=1_000.0,
        "the balance of rotting residue",
    )?;
    Ok(carbon * (1.0 / ratio - 1.0 / MICROBIAL_DIET_RATIO))
}

/// Nitrogen of a material in %, from its carbon and its C:N.
///
/// # Range
/// Carbon 0 to 100 %; C:N 1 to 10,000.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// USDA-ARS/NRCS Akron 2002, "Feeding the soil: carbon/nitrogen ratio": corn stalks at 50 and 40 % carbon hold 0.8 % nitrogen.
pub fn nitrogen_pct_from_ratio(
    carbon_pct: f64,
    carbon_nitrogen_ratio: f64,
) -> Result<f64, SoilError> {
    let carbon = percent(carbon_pct, "carbon")?;
    Ok(carbon
        / within(
            carbon_nitrogen_ratio,
            "the C:N ratio",
            "",
            1.0..=1.0e4,
            "a C:N ratio",
        )?)
}

/// Crude protein of a feed in %: nitrogen x 6.25.
///
/// # Errors
/// [`SoilError`] outside 0 to 16 % nitrogen.
///
/// # Source
/// USDA-ARS/NRCS Akron 2002, "Feeding the soil: carbon/nitrogen ratio".
pub fn crude_protein_pct(nitrogen_pct: f64) -> Result<f64, SoilError> {
    Ok(6.25 * within(nitrogen_pct, "nitrogen", "%", 0.0..=16.0, "crude protein")?)
}

/// Carbon that a moist material brings: `rate x (1 - moisture) x carbon of the dry matter`.
///
/// # Range
/// Moisture and carbon 0 to 100 %.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition.
pub fn carbon_in_material(
    moist: MassPerArea,
    moisture_pct: f64,
    carbon_of_dry_matter_pct: f64,
) -> Result<MassPerArea, SoilError> {
    let dry = 1.0 - percent(moisture_pct, "moisture")? / 100.0;
    Ok(moist * (dry * percent(carbon_of_dry_matter_pct, "carbon of the dry matter")? / 100.0))
}

/// Moist material that brings an amount of carbon, the inverse of [`carbon_in_material`].
///
/// # Range
/// Moisture 0 to 95 %; carbon 1 to 100 %.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition.
pub fn material_for_carbon(
    carbon: MassPerArea,
    moisture_pct: f64,
    carbon_of_dry_matter_pct: f64,
) -> Result<MassPerArea, SoilError> {
    let moisture = within(moisture_pct, "moisture", "%", 0.0..=95.0, "a carbon source")?;
    let share = within(
        carbon_of_dry_matter_pct,
        "carbon of the dry matter",
        "%",
        1.0..=100.0,
        "a carbon source",
    )?;
    Ok(carbon * (1.0 / ((1.0 - moisture / 100.0) * share / 100.0)))
}

/// Carbon in sucrose, % of mass (12 x 12.011 / 342.30).
pub const SUCROSE_CARBON_PCT: f64 = 42.1;
/// Carbon in glucose, % of mass (6 x 12.011 / 180.16).
pub const GLUCOSE_CARBON_PCT: f64 = 40.0;

/// C:N of materials and of the microbes that eat them.
///
/// # Source
/// USDA NRCS, "Carbon to nitrogen ratios in cropping systems", table.
pub const MATERIAL_RATIOS: [(&str, f64); 15] = [
    ("rye straw", 82.0),
    ("wheat straw", 80.0),
    ("oat straw", 70.0),
    ("corn stover", 57.0),
    ("rye cover crop at anthesis", 37.0),
    ("pea straw", 29.0),
    ("rye cover crop, vegetative", 26.0),
    ("mature alfalfa hay", 25.0),
    ("ideal microbial diet", 24.0),
    ("rotted barnyard manure", 20.0),
    ("legume hay", 17.0),
    ("beef manure", 17.0),
    ("young alfalfa hay", 13.0),
    ("hairy vetch cover crop", 11.0),
    ("soil microbes", 8.0),
];
