use super::SoilError;
use super::error::within;

/// An exchangeable base.
///
/// 1 meq/100 g is 1 cmol(c)/kg, exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cation {
    /// Ca²⁺.
    Calcium,
    /// Mg²⁺.
    Magnesium,
    /// K⁺.
    Potassium,
    /// Na⁺.
    Sodium,
}

impl Cation {
    /// The four bases, in the order in which laboratories print them.
    pub const ALL: [Self; 4] = [
        Self::Calcium,
        Self::Magnesium,
        Self::Potassium,
        Self::Sodium,
    ];

    /// Concentration in ppm (mg/kg) that is 1 meq/100 g, rounded as laboratories round it.
    ///
    /// # Source
    /// Crop Files 1.04-132, "What is base saturation". Unrounded: 200.4, 121.5, 391.0, 229.9.
    #[must_use]
    pub const fn ppm_per_meq(self) -> f64 {
        match self {
            Self::Calcium => 200.0,
            Self::Magnesium => 120.0,
            Self::Potassium => 390.0,
            Self::Sodium => 230.0,
        }
    }

    /// Pounds per acre that are 1 meq/100 g, for laboratories that print lb/ac on 2,000,000 lb of soil.
    ///
    /// # Source
    /// Clemson University Agricultural Service Laboratory, "CEC calculations". Half of 782 is 391, not the 390 of the
    /// ppm table: two publications, 0.3 % apart.
    #[must_use]
    pub const fn pounds_per_acre_per_meq(self) -> f64 {
        match self {
            Self::Calcium => 400.0,
            Self::Magnesium => 240.0,
            Self::Potassium => 782.0,
            Self::Sodium => 460.0,
        }
    }

    /// What people call it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Calcium => "calcium",
            Self::Magnesium => "magnesium",
            Self::Potassium => "potassium",
            Self::Sodium => "sodium",
        }
    }

    /// Charge in meq/100 g of a concentration in ppm.
    ///
    /// # Range
    /// 0 to 40,000 ppm.
    ///
    /// # Errors
    /// [`SoilError`] outside the range.
    ///
    /// # Source
    /// [`Cation::ppm_per_meq`].
    pub fn meq_from_ppm(self, ppm: f64) -> Result<f64, SoilError> {
        Ok(within(
            ppm,
            self.name(),
            "ppm",
            0.0..=40_000.0,
            "an exchangeable cation",
        )? / self.ppm_per_meq())
    }

    /// Charge in meq/100 g of a result in lb/ac on 2,000,000 lb of soil.
    ///
    /// # Range
    /// 0 to 80,000 lb/ac.
    ///
    /// # Errors
    /// [`SoilError`] outside the range.
    ///
    /// # Source
    /// [`Cation::pounds_per_acre_per_meq`].
    pub fn meq_from_pounds_per_acre(self, pounds_per_acre: f64) -> Result<f64, SoilError> {
        let pounds = within(
            pounds_per_acre,
            self.name(),
            "lb/ac",
            0.0..=80_000.0,
            "an exchangeable cation",
        )?;
        Ok(pounds / self.pounds_per_acre_per_meq())
    }
}
