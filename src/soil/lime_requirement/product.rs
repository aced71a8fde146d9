use crate::soil::SoilError;
use crate::soil::error::{percent, within};

/// Calcium carbonate equivalent of pure materials, %, from molar masses.
///
/// A table in print gives 108.5 for magnesium carbonate while calling it 16 % more effective than calcium carbonate: 108.5 is dolomite's.
pub const PURE_MATERIALS: [(&str, f64); 5] = [
    ("calcium carbonate", 100.0),
    ("dolomite", 108.6),
    ("magnesium carbonate", 118.7),
    ("calcium hydroxide", 135.1),
    ("calcium oxide", 178.5),
];

/// How good a lime is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LimeQuality {
    /// Purity alone: as fine as the rule's reference lime.
    Purity {
        /// Calcium carbonate equivalent, %.
        calcium_carbonate_equivalent_pct: f64,
    },
    /// Purity times fineness: an ENV, ENP, ECCE or score in percent.
    Effective {
        /// Effective value, %.
        pct: f64,
    },
}

impl LimeQuality {
    /// The value that divides the rate, %.
    #[must_use]
    pub const fn pct(self) -> f64 {
        match self {
            Self::Purity {
                calcium_carbonate_equivalent_pct,
            } => calcium_carbonate_equivalent_pct,
            Self::Effective { pct } => pct,
        }
    }

    /// From an ENP printed in pounds per short ton, as Ohio and Minnesota labels do.
    ///
    /// # Range
    /// 200 to 3,600 lb/ton.
    ///
    /// # Errors
    /// [`SoilError`] outside the range.
    ///
    /// # Source
    /// Ohio State University Extension 2014, "Select a lime source based on ENP": tons of product = tons recommended x 2000 / ENP.
    pub fn from_enp_pounds_per_ton(pounds_per_ton: f64) -> Result<Self, SoilError> {
        let pounds = within(
            pounds_per_ton,
            "ENP",
            "lb/ton",
            200.0..=3_600.0,
            "a lime label",
        )?;
        Ok(Self::Effective { pct: pounds / 20.0 })
    }
}

/// A ground limestone's label: purity, dryness and cumulative percent passing the sieves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limestone {
    /// Calcium carbonate equivalent of the dry matter, %.
    pub calcium_carbonate_equivalent_pct: f64,
    /// Dry matter, %.
    pub dry_matter_pct: f64,
}

impl Limestone {
    fn share(self) -> Result<f64, SoilError> {
        let rule = "a lime label";
        let cce = within(
            self.calcium_carbonate_equivalent_pct,
            "calcium carbonate equivalent",
            "%",
            0.0..=180.0,
            rule,
        )?;
        Ok(cce / 100.0 * percent(self.dry_matter_pct, "dry matter")? / 100.0)
    }
}

/// Percentages passing sieves, coarse to fine: each no more than the one before.
fn falling<const N: usize>(passing_pct: [f64; N]) -> Result<[f64; N], SoilError> {
    let mut most = 100.0;
    for passing in passing_pct {
        most = within(
            passing,
            "the share passing a finer sieve",
            "%",
            0.0..=most,
            "cumulative sieving",
        )?;
    }
    Ok(passing_pct)
}

/// Fineness by the rule of New York, %: 40 % of the 20-60 mesh fraction, 80 % of the 60-100, all below 100.
///
/// # Range
/// Cumulative percent passing 20, 60 and 100 mesh, each no more than the one before.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Cornell University, certified crop adviser study resource, performance objective 41.
pub fn fineness_new_york_pct(passing_20_60_100_pct: [f64; 3]) -> Result<f64, SoilError> {
    let [p20, p60, p100] = falling(passing_20_60_100_pct)?;
    Ok(0.40 * (p20 - p60) + 0.80 * (p60 - p100) + p100)
}

/// Effective neutralizing value (ENV) of New York, %: fineness x CCE. Ground stones run from about 30 to 100.
///
/// # Errors
/// [`SoilError`] outside the range of [`fineness_new_york_pct`] or of a CCE of 0 to 180 %.
///
/// # Source
/// Cornell University, certified crop adviser study resource, performance objective 41.
pub fn new_york_env_pct(
    passing_20_60_100_pct: [f64; 3],
    stone: Limestone,
) -> Result<f64, SoilError> {
    Ok(fineness_new_york_pct(passing_20_60_100_pct)? * stone.share()?)
}

/// Fineness index of Minnesota, %: 20 % of the 8-20 mesh fraction, 60 % of the 20-60, all below 60.
///
/// # Errors
/// [`SoilError`] where a finer sieve passes more than a coarser one.
///
/// # Source
/// Minnesota Department of Agriculture, "Agricultural liming materials analysis explanation" (sieves; 100 % below 60 mesh); factors 0.2 and 0.6 from memory.
pub fn fineness_minnesota_pct(passing_8_20_60_pct: [f64; 3]) -> Result<f64, SoilError> {
    let [p8, p20, p60] = falling(passing_8_20_60_pct)?;
    Ok(0.2 * (p8 - p20) + 0.6 * (p20 - p60) + p60)
}

/// Effective neutralizing power (ENP) of Minnesota, %: fineness x CCE x dry matter. Times 20 it is lb/ton.
///
/// # Errors
/// [`SoilError`] outside the range of [`fineness_minnesota_pct`] or of a CCE of 0 to 180 %.
///
/// # Source
/// As [`fineness_minnesota_pct`].
pub fn minnesota_enp_pct(
    passing_8_20_60_pct: [f64; 3],
    stone: Limestone,
) -> Result<f64, SoilError> {
    Ok(fineness_minnesota_pct(passing_8_20_60_pct)? * stone.share()?)
}

/// Effective neutralizing power (ENP) of Ohio, %: the same shape with the sieves 8, 20 and 60. Times 20 it is lb/ton.
///
/// # Errors
/// As [`minnesota_enp_pct`].
///
/// # Source
/// Ohio Administrative Code, agricultural liming materials: factors 0.2, 0.6 and 1.0, from memory. Prefer the ENP that
/// the label guarantees.
pub fn ohio_enp_pct(passing_8_20_60_pct: [f64; 3], stone: Limestone) -> Result<f64, SoilError> {
    minnesota_enp_pct(passing_8_20_60_pct, stone)
}

/// Effective calcium carbonate equivalent (ECCE) of Iowa, %: CCE x (0.1 x passing 4 + 0.3 x passing 8 + 0.6 x passing 60 mesh).
///
/// # Errors
/// [`SoilError`] where a finer sieve passes more than a coarser one, or outside a CCE of 0 to 180 %.
///
/// # Source
/// Iowa lime law, from memory.
pub fn iowa_ecce_pct(passing_4_8_60_pct: [f64; 3], stone: Limestone) -> Result<f64, SoilError> {
    let [p4, p8, p60] = falling(passing_4_8_60_pct)?;
    Ok((0.1 * p4 + 0.3 * p8 + 0.6 * p60) * stone.share()?)
}

/// Which stone a soil wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LimeKind {
    /// Calcium carbonate: where magnesium is not short.
    Calcitic,
    /// Calcium magnesium carbonate: only where magnesium is short.
    Dolomitic,
}

/// Dolomitic lime only where magnesium is short, calcitic otherwise and where magnesium was not measured.
///
/// # Units
/// Both in ppm; `short_below_ppm` is a threshold of the rulebook (Ohio: 50 ppm).
///
/// # Source
/// Ohio State University Extension 2014, "Select a lime source based on ENP".
#[must_use]
pub fn lime_kind(magnesium_ppm: Option<f64>, short_below_ppm: f64) -> LimeKind {
    if magnesium_ppm.is_some_and(|ppm| ppm < short_below_ppm) {
        LimeKind::Dolomitic
    } else {
        LimeKind::Calcitic
    }
}
