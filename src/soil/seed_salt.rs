use super::SoilError;
use super::customary::{in_inches, pounds_per_acre};
use super::error::{percent, within};
use crate::units::{Density, Length, MassPerArea, VolumePerArea};

/// Seed that lies with the starter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SeedCrop {
    /// Corn.
    Corn,
    /// Sunflower.
    Sunflower,
    /// Soybean: none is safe.
    Soybean,
    /// Dry bean: none is safe.
    DryBean,
}

impl SeedCrop {
    /// All crops with a published limit here.
    pub const ALL: [Self; 4] = [Self::Corn, Self::Sunflower, Self::Soybean, Self::DryBean];

    /// The word of the plan file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Corn => "corn",
            Self::Sunflower => "sunflower",
            Self::Soybean => "soybean",
            Self::DryBean => "dry bean",
        }
    }

    /// The crop of a word; soybeans and dry beans in the plural too.
    ///
    /// # Errors
    /// [`SoilError::UnknownName`]: no published limit is held for other crops (wheat, for one).
    pub fn from_name(name: &str) -> Result<Self, SoilError> {
        let plain = name.trim().to_lowercase().replace(['-', '_'], " ");
        let singular = plain.strip_suffix('s').unwrap_or(&plain);
        Self::ALL
            .into_iter()
            .find(|crop| crop.name() == singular)
            .ok_or_else(|| SoilError::UnknownName {
                what: "crop with a published seed-safe limit",
                found: name.to_owned(),
                allowed: Self::ALL.map(Self::name).join(", "),
            })
    }
}

/// Column of the seed-safe table. A dry or cold seedbed takes the sandy one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Seedbed {
    /// Medium and fine textures, moist.
    MediumToFine,
    /// Sandy, or dry, or cold.
    SandyDryOrCold,
}

/// A published table of nitrogen plus potash that may touch the seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SeedSaltTable {
    /// Corn by row spacing and texture.
    Kansas,
    /// Corn and sunflower in 30 in rows; no texture column.
    NorthDakota,
}

/// What may touch the seed, and why.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeedSaltLimit {
    /// Most nitrogen plus potash (N + K2O), no urea, UAN or ammonium thiosulfate among it.
    pub nitrogen_plus_potash: MassPerArea,
    /// The publication.
    pub source: &'static str,
    /// How the table was read at this row spacing.
    pub reading: SeedSaltReading,
}

/// How a seed-safe table was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SeedSaltReading {
    /// A printed number.
    Printed,
    /// By length of row between two printed spacings, the lower of the two.
    BetweenSpacings,
    /// By length of row, wider than the widest spacing printed.
    WiderThanPrinted,
    /// The narrowest spacing's number: narrower rows get no more.
    NarrowerThanPrinted,
    /// The crop takes none.
    NoneForCrop,
}

/// Row spacing in inches, lb/ac N + K2O on medium to fine and on sandy soil.
const KANSAS: [(f64, f64, f64); 3] = [(20.0, 12.0, 8.0), (30.0, 8.0, 6.0), (40.0, 6.0, 4.0)];

const KANSAS_SOURCE: &str = "Kansas State University, Agronomy eUpdate 3091, table 1 (corn, N + K2O in contact with the seed)";
const NORTH_DAKOTA_SOURCE: &str =
    "North Dakota State University 2002, Crop and Pest Report, 2 May, \"Fertilizer with the seed\"";

impl SeedSaltTable {
    /// The name in kebab case, for rulebooks.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Kansas => "kansas",
            Self::NorthDakota => "north-dakota",
        }
    }

    /// The table of a name.
    ///
    /// # Errors
    /// [`SoilError::UnknownName`] with the names known.
    pub fn from_name(name: &str) -> Result<Self, SoilError> {
        [Self::Kansas, Self::NorthDakota]
            .into_iter()
            .find(|table| table.name() == name)
            .ok_or_else(|| SoilError::UnknownName {
                what: "seed-safe table",
                found: name.to_owned(),
                allowed: "kansas, north-dakota".to_owned(),
            })
    }

    /// Most nitrogen plus potash in contact with the seed.
    ///
    /// Soybean and dry bean take none in any table. At a spacing between two printed ones each is scaled by length of row and the
    /// lower result holds; wider rows are scaled down from the widest; narrower ones get the narrowest spacing's number.
    /// Limits hold for seed contact only, not for a band beside the seed.
    ///
    /// # Range
    /// Row spacing 6 to 60 in. Sunflower only in the North Dakota table.
    ///
    /// # Errors
    /// [`SoilError`] outside the range.
    ///
    /// # Source
    /// Kansas State University, Agronomy eUpdate 3091, table 1 (read in a reprint). North Dakota State University, Crop and Pest
    /// Report, 2 May 2002: corn and sunflower in 30 in rows up to 10 lb N + K2O, at ease at slightly over half of
    /// that; row-crop soybean and dry bean none. Scaling: own.
    ///
    /// # Example
    /// ```
    /// use lowstave::soil::{SeedCrop, SeedSaltTable, Seedbed};
    /// use lowstave::units::{Length, Quantity};
    /// let rows = Length::parse("30 in").unwrap();
    /// let corn = SeedSaltTable::Kansas.limit(SeedCrop::Corn, Seedbed::SandyDryOrCold, rows).unwrap();
    /// assert!((corn.nitrogen_plus_potash.in_unit("lb/ac").unwrap() - 6.0).abs() < 1e-9);
    /// let soybean = SeedSaltTable::Kansas.limit(SeedCrop::Soybean, Seedbed::MediumToFine, rows).unwrap();
    /// assert_eq!(soybean.nitrogen_plus_potash.kilograms_per_hectare(), 0.0);
    /// ```
    pub fn limit(
        self,
        crop: SeedCrop,
        seedbed: Seedbed,
        row_spacing: Length,
    ) -> Result<SeedSaltLimit, SoilError> {
        let spacing = within(
            in_inches(row_spacing),
            "row spacing",
            "in",
            6.0..=60.000_001,
            "the seed-safe table",
        )?;
        let (pounds, reading, source) = match (crop, self) {
            (SeedCrop::Soybean | SeedCrop::DryBean, _) => {
                (0.0, SeedSaltReading::NoneForCrop, NORTH_DAKOTA_SOURCE)
            }
            (SeedCrop::Sunflower, Self::Kansas) => {
                return Err(SoilError::NotComparable {
                    what: "the seed-safe limit",
                    found: "sunflower".to_owned(),
                    wanted: "corn".to_owned(),
                    help: "use the North Dakota table or keep nitrogen and potash away from the seed",
                });
            }
            (SeedCrop::Corn, Self::Kansas) => {
                let column = KANSAS.map(|(at, fine, sandy)| {
                    (
                        at,
                        if seedbed == Seedbed::SandyDryOrCold {
                            sandy
                        } else {
                            fine
                        },
                    )
                });
                let (pounds, reading) = read_by_row_length(&column, spacing);
                (pounds, reading, KANSAS_SOURCE)
            }
            (_, Self::NorthDakota) => {
                let (pounds, reading) = read_by_row_length(&[(30.0, 10.0)], spacing);
                (pounds, reading, NORTH_DAKOTA_SOURCE)
            }
        };
        Ok(SeedSaltLimit {
            nitrogen_plus_potash: pounds_per_acre(pounds),
            source,
            reading,
        })
    }
}

/// Reads a column of (spacing, limit), narrow to wide.
fn read_by_row_length(column: &[(f64, f64)], spacing: f64) -> (f64, SeedSaltReading) {
    const SAME_SPACING_IN: f64 = 0.01;
    if let Some(&(_, limit)) = column
        .iter()
        .find(|(at, _)| (at - spacing).abs() < SAME_SPACING_IN)
    {
        return (limit, SeedSaltReading::Printed);
    }
    let scaled = |&(at, limit): &(f64, f64)| limit * at / spacing;
    let narrower = column.iter().rev().find(|(at, _)| *at < spacing);
    let wider = column.iter().find(|(at, _)| *at > spacing);
    match (narrower, wider) {
        (Some(below), Some(above)) => (
            scaled(below).min(scaled(above)),
            SeedSaltReading::BetweenSpacings,
        ),
        (Some(below), None) => (scaled(below), SeedSaltReading::WiderThanPrinted),
        (None, Some(&(_, limit))) => (limit, SeedSaltReading::NarrowerThanPrinted),
        (None, None) => (0.0, SeedSaltReading::NoneForCrop),
    }
}

/// Nitrogen plus potash that a liquid brings.
///
/// # Units
/// Analysis in % of mass, as N and K2O.
///
/// # Range
/// Each analysis 0 to 100 %.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition.
pub fn nitrogen_plus_potash(
    rate: VolumePerArea,
    density: Density,
    nitrogen_pct: f64,
    potash_pct: f64,
) -> Result<MassPerArea, SoilError> {
    let share = (percent(nitrogen_pct, "nitrogen")? + percent(potash_pct, "potash")?) / 100.0;
    Ok(MassPerArea::from_kilograms_per_hectare(
        rate.litres_per_hectare() * density.kilograms_per_litre() * share,
    ))
}

/// A crop and a material with a published slope of stand loss.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum EmergenceSlope {
    /// Corn with urea, -0.965.
    CornUrea,
    /// Corn with UAN, -0.236.
    CornUan,
    /// Soybean with urea, -3.330.
    SoybeanUrea,
    /// Soybean with UAN, -1.703.
    SoybeanUan,
}

impl EmergenceSlope {
    /// The slope, percent of stand per pound of material and acre in 30 in rows.
    #[must_use]
    pub const fn value(self) -> f64 {
        match self {
            Self::CornUrea => -0.965,
            Self::CornUan => -0.236,
            Self::SoybeanUrea => -3.330,
            Self::SoybeanUan => -1.703,
        }
    }
}

/// Material that costs a given share of the stand, `30 S T / (|slope| R M)`.
///
/// It shows how little urea kills seed; the stand loss put in is a loss, not a safe level. The crop's rule and the seed-safe
/// tables come before it.
///
/// # Units
/// Opening and row spacing as lengths; loss in %; moisture coefficient 1 for a fine, moist soil. Result is mass of material.
///
/// # Range
/// Opening 0.25 to 4 in, row 6 to 60 in, loss 0 to 50 %, moisture coefficient 1 to 5.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// South Dakota State University (attribution from memory), "Maximum fertilizer material to apply with seed", equation and table.
pub fn material_for_stand_loss(
    slope: EmergenceSlope,
    opening: Length,
    row_spacing: Length,
    stand_loss_pct: f64,
    moisture_coefficient: f64,
) -> Result<MassPerArea, SoilError> {
    let rule = "the emergence equation";
    let opening = within(
        in_inches(opening),
        "the furrow opening",
        "in",
        0.25..=4.0,
        rule,
    )?;
    let row = within(
        in_inches(row_spacing),
        "row spacing",
        "in",
        6.0..=60.000_001,
        rule,
    )?;
    let loss = within(stand_loss_pct, "stand loss", "%", 0.0..=50.0, rule)?;
    let moisture = within(
        moisture_coefficient,
        "the moisture coefficient",
        "",
        1.0..=5.0,
        rule,
    )?;
    Ok(pounds_per_acre(
        30.0 * opening * loss / (slope.value().abs() * row * moisture),
    ))
}
