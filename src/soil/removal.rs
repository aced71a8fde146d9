use super::SoilError;
use super::customary::pounds_per_acre;
use super::error::within;
use crate::units::MassPerArea;

/// Pounds in a bushel of corn at 15.5 % moisture.
///
/// # Source
/// USDA test-weight conventions, from memory.
pub const CORN_POUNDS_PER_BUSHEL: f64 = 56.0;
/// Pounds in a bushel of soybean at 13 % moisture.
///
/// # Source
/// USDA test-weight conventions, from memory.
pub const SOYBEAN_POUNDS_PER_BUSHEL: f64 = 60.0;

/// Part of the crop that leaves the field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CropPart {
    /// The grain.
    Grain,
    /// Stover or straw, stated per bushel of grain.
    Residue,
}

/// Nutrient that a crop removes with each bushel. Uptake is another, larger number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RemovalFactor {
    /// Crop.
    pub crop: &'static str,
    /// Nutrient in the form stated: `N`, `P2O5`, `K2O`, `Ca`, `Mg`, `S`.
    pub nutrient: &'static str,
    /// Part of the crop.
    pub part: CropPart,
    /// Least and most pounds per bushel of grain in print.
    pub pounds_per_bushel: (f64, f64),
    /// Region that the survey speaks for.
    pub region: &'static str,
    /// The publication, and what of it was recalled.
    pub source: &'static str,
}

const IPNI: &str = "International Plant Nutrition Institute, fall 2008, no. 4, nutrient removal";
const TRI_STATE: &str = "Tri-State Fertilizer Recommendations 2020, Bulletin 974, from memory; in accord with Ohio State University ANR-74";
const ONTARIO: &str = "Ontario field crop removal values, 2025";
const KENTUCKY: &str = "University of Kentucky, agronomy report 136";
const KANSAS: &str =
    "Kansas State University, Agronomy eUpdate 383, Key nutrients for soybean production";

macro_rules! removes {
    ($crop:literal, $nutrient:literal, $part:ident, $low:literal, $high:literal, $region:literal, $source:expr) => {
        RemovalFactor {
            crop: $crop,
            nutrient: $nutrient,
            part: CropPart::$part,
            pounds_per_bushel: ($low, $high),
            region: $region,
            source: $source,
        }
    };
}

/// Removal factors in print.
#[rustfmt::skip]
pub const REMOVAL_FACTORS: &[RemovalFactor] = &[
    removes!("corn", "K2O", Grain, 0.27, 0.27, "north america", IPNI),
    removes!("corn", "K2O", Residue, 1.1, 1.1, "north america", IPNI),
    removes!("corn", "P2O5", Grain, 0.35, 0.35, "ohio", TRI_STATE),
    removes!("corn", "K2O", Grain, 0.20, 0.20, "ohio", TRI_STATE),
    removes!("soybean", "P2O5", Grain, 0.80, 0.80, "ohio", TRI_STATE),
    removes!("soybean", "K2O", Grain, 1.15, 1.15, "ohio", TRI_STATE),
    removes!("corn", "N", Grain, 0.65, 1.0, "ontario", ONTARIO),
    removes!("corn", "P2O5", Grain, 0.37, 0.44, "ontario", ONTARIO),
    removes!("corn", "K2O", Grain, 0.26, 0.30, "ontario", ONTARIO),
    removes!("corn", "Ca", Grain, 0.007, 0.007, "ontario", ONTARIO),
    removes!("corn", "Mg", Grain, 0.087, 0.087, "ontario", ONTARIO),
    removes!("corn", "S", Grain, 0.07, 0.07, "ontario", ONTARIO),
    removes!("soybean", "N", Grain, 3.7, 4.0, "ontario", ONTARIO),
    removes!("soybean", "P2O5", Grain, 0.80, 0.88, "ontario", ONTARIO),
    removes!("soybean", "K2O", Grain, 1.38, 1.40, "ontario", ONTARIO),
    removes!("soybean", "Ca", Grain, 0.18, 0.22, "ontario", ONTARIO),
    removes!("soybean", "Mg", Grain, 0.14, 0.18, "ontario", ONTARIO),
    removes!("soybean", "S", Grain, 0.033, 0.033, "ontario", ONTARIO),
    removes!("soybean", "N", Grain, 3.0, 3.0, "kentucky", KENTUCKY),
    removes!("soybean", "P2O5", Grain, 0.7, 0.7, "kentucky", KENTUCKY),
    removes!("soybean", "K2O", Grain, 1.1, 1.1, "kentucky", KENTUCKY),
    removes!("soybean", "P2O5", Grain, 0.8, 0.8, "kansas", KANSAS),
    removes!("soybean", "K2O", Grain, 1.4, 1.4, "kansas", KANSAS),
];

impl RemovalFactor {
    /// The factor of a crop, nutrient and part in a region.
    ///
    /// # Errors
    /// [`SoilError::UnknownName`] where there is none.
    pub fn find(
        crop: &str,
        nutrient: &str,
        part: CropPart,
        region: &str,
    ) -> Result<&'static Self, SoilError> {
        let fits = |f: &&Self| {
            f.crop == crop && f.nutrient == nutrient && f.part == part && f.region == region
        };
        REMOVAL_FACTORS
            .iter()
            .find(fits)
            .ok_or_else(|| SoilError::UnknownName {
                what: "removal factor",
                found: format!("{crop}, {nutrient}, {region}"),
                allowed: REMOVAL_FACTORS
                    .iter()
                    .map(|f| format!("{}, {}, {}", f.crop, f.nutrient, f.region))
                    .collect::<Vec<_>>()
                    .join("; "),
            })
    }

    /// Least and most removal at a yield when a share of this part leaves the field.
    ///
    /// # Units
    /// Yield in bushels per acre at trade moisture; share of the part taken, 0 to 1 (1 for grain).
    ///
    /// # Range
    /// Yield 0 to 500 bu/ac.
    ///
    /// # Errors
    /// [`SoilError`] outside the range.
    ///
    /// # Source
    /// Yield x factor.
    pub fn removed(
        &self,
        yield_bushels_per_acre: f64,
        share_taken: f64,
    ) -> Result<(MassPerArea, MassPerArea), SoilError> {
        let yield_bu = within(
            yield_bushels_per_acre,
            "the yield",
            "bu/ac",
            0.0..=500.0,
            "a removal factor",
        )?;
        let share = within(
            share_taken,
            "the share taken",
            "",
            0.0..=1.0,
            "a removal factor",
        )?;
        let (least, most) = self.pounds_per_bushel;
        Ok((
            pounds_per_acre(yield_bu * least * share),
            pounds_per_acre(yield_bu * most * share),
        ))
    }
}

/// Yields of the soybean uptake table, bu/ac.
const UPTAKE_YIELDS: [f64; 3] = [40.0, 55.0, 70.0];
/// Nutrient and pounds per acre taken up at [`UPTAKE_YIELDS`].
const SOYBEAN_UPTAKE: [(&str, [f64; 3]); 5] = [
    ("N", [220.0, 290.0, 360.0]),
    ("P2O5", [38.0, 53.0, 67.0]),
    ("K2O", [140.0, 190.0, 220.0]),
    ("Mg", [16.0, 22.0, 28.0]),
    ("S", [14.0, 18.0, 22.0]),
];

/// Nutrient that a soybean crop takes up, interpolated between the yields of the table. Much of the nitrogen comes from the air.
///
/// # Range
/// Yield 40 to 70 bu/ac; nutrients N, P2O5, K2O, Mg, S.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Snyder 2000, Potash and Phosphate Institute, soybean nutrient uptake at 40, 55 and 70 bu/ac.
pub fn soybean_uptake(
    nutrient: &str,
    yield_bushels_per_acre: f64,
) -> Result<MassPerArea, SoilError> {
    let yield_bu = within(
        yield_bushels_per_acre,
        "the yield",
        "bu/ac",
        40.0..=70.0,
        "the soybean uptake table",
    )?;
    let (_, uptake) = SOYBEAN_UPTAKE
        .into_iter()
        .find(|(name, _)| *name == nutrient)
        .ok_or_else(|| SoilError::UnknownName {
            what: "nutrient in the soybean uptake table",
            found: nutrient.to_owned(),
            allowed: SOYBEAN_UPTAKE.map(|(name, _)| name).join(", "),
        })?;
    let [low, middle, high] = uptake;
    let [at_low, at_middle, at_high] = UPTAKE_YIELDS;
    let pounds = if yield_bu <= at_middle {
        low + (middle - low) * (yield_bu - at_low) / (at_middle - at_low)
    } else {
        middle + (high - middle) * (yield_bu - at_middle) / (at_high - at_middle)
    };
    Ok(pounds_per_acre(pounds))
}
