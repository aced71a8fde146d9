use super::SoilError;
use super::error::{percent, within};

/// Organic matter per unit of organic carbon. The choice is printed wherever it was used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OrganicMatterFactor {
    /// 1.724, the trade's: 58 % carbon.
    Conventional,
    /// 1.9, the median of empirical studies.
    EmpiricalMedian,
    /// 2.0, on theory: 50 % carbon.
    Theoretical,
    /// Measured for the soil at hand.
    Measured(f64),
}

impl OrganicMatterFactor {
    /// The number.
    #[must_use]
    pub const fn value(self) -> f64 {
        match self {
            Self::Conventional => 1.724,
            Self::EmpiricalMedian => 1.9,
            Self::Theoretical => 2.0,
            Self::Measured(value) => value,
        }
    }
}

/// Organic carbon from organic matter, both in % of dry soil.
///
/// Organic matter by loss on ignition depends on the oven's temperature, and residue taken along with the core inflates it.
///
/// # Range
/// Organic matter 0 to 100 %; factor 1.4 to 2.5.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Pribyl 2010, "A critical review of the conventional SOC to SOM conversion factor", Geoderma 156:75-83: 1.724 is too low for most soils.
///
/// # Example
/// ```
/// use lowstave::soil::{OrganicMatterFactor, organic_carbon_pct};
/// let carbon = organic_carbon_pct(3.0, OrganicMatterFactor::Conventional).unwrap();
/// assert!((carbon - 1.74).abs() < 0.001);
/// ```
pub fn organic_carbon_pct(
    organic_matter_pct: f64,
    factor: OrganicMatterFactor,
) -> Result<f64, SoilError> {
    let matter = percent(organic_matter_pct, "organic matter")?;
    Ok(matter
        / within(
            factor.value(),
            "organic matter per carbon",
            "",
            1.4..=2.5,
            "the review of Pribyl 2010",
        )?)
}
