use crate::soil::SoilError;
use crate::soil::error::percent;
use crate::units::Pressure;

/// How compacted a field is, by the share of points whose greatest cone index in the top 15 in is above 300 psi.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CompactionClass {
    /// Under 30 %: little to none; do not subsoil.
    LittleToNone,
    /// 30 to under 50 %: slight; do not subsoil.
    Slight,
    /// 50 to 75 %: moderate; subsoiling may pay.
    Moderate,
    /// Over 75 %: severe; subsoiling pays.
    Severe,
}

impl CompactionClass {
    /// The class of a share.
    ///
    /// # Range
    /// 0 to 100 %.
    ///
    /// # Errors
    /// [`SoilError`] outside the range.
    ///
    /// # Source
    /// Duiker 2002, Penn State Agronomy Facts 63, after Kentucky work; table from memory, edges read as half open at 30 and 50 and closed at 75 (own).
    pub fn of_share(share_pct: f64) -> Result<Self, SoilError> {
        let share = percent(share_pct, "the share of points above the limit")?;
        Ok(match share {
            share if share < 30.0 => Self::LittleToNone,
            share if share < 50.0 => Self::Slight,
            share if share <= 75.0 => Self::Moderate,
            _ => Self::Severe,
        })
    }

    /// The word.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::LittleToNone => "little to none",
            Self::Slight => "slight",
            Self::Moderate => "moderate",
            Self::Severe => "severe",
        }
    }

    /// Whether the publication advises to loosen the subsoil.
    #[must_use]
    pub const fn advises_subsoiling(self) -> bool {
        matches!(self, Self::Moderate | Self::Severe)
    }
}

/// Share of points whose greatest cone index lies above a limit, %. A reading equal to the limit is not above it. The share tells more
/// than the mean, which hides a thin pan.
///
/// # Range
/// At least one point.
///
/// # Errors
/// [`SoilError::NotEnoughData`] without a point, [`SoilError::NotANumber`] where a reading is none.
///
/// # Source
/// Duiker 2002, Penn State Agronomy Facts 63.
pub fn share_above_pct(greatest: &[Pressure], limit: Pressure) -> Result<f64, SoilError> {
    if greatest.is_empty() {
        return Err(SoilError::NotEnoughData {
            what: "the share above the limit",
            found: 0,
            needed: 1,
        });
    }
    if greatest
        .iter()
        .any(|pressure| !pressure.kilopascals().is_finite())
    {
        return Err(SoilError::NotANumber {
            quantity: "a cone reading",
        });
    }
    let above = greatest
        .iter()
        .filter(|pressure| pressure.kilopascals() > limit.kilopascals())
        .count();
    Ok(100.0 * above as f64 / greatest.len() as f64)
}
