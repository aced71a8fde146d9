use super::SoilError;
use super::error::{percent, within};

/// Texture class of the United States system.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum TextureClass {
    /// Sand.
    Sand,
    /// Loamy sand.
    LoamySand,
    /// Sandy loam.
    SandyLoam,
    /// Loam.
    Loam,
    /// Silt loam.
    SiltLoam,
    /// Silt.
    Silt,
    /// Sandy clay loam.
    SandyClayLoam,
    /// Clay loam.
    ClayLoam,
    /// Silty clay loam.
    SiltyClayLoam,
    /// Sandy clay.
    SandyClay,
    /// Silty clay.
    SiltyClay,
    /// Clay.
    Clay,
}

impl TextureClass {
    /// What people call it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sand => "sand",
            Self::LoamySand => "loamy sand",
            Self::SandyLoam => "sandy loam",
            Self::Loam => "loam",
            Self::SiltLoam => "silt loam",
            Self::Silt => "silt",
            Self::SandyClayLoam => "sandy clay loam",
            Self::ClayLoam => "clay loam",
            Self::SiltyClayLoam => "silty clay loam",
            Self::SandyClay => "sandy clay",
            Self::SiltyClay => "silty clay",
            Self::Clay => "clay",
        }
    }

    /// Whether seed-safe tables read it as sandy: sand, loamy sand and sandy loam.
    ///
    /// # Source
    /// Coarse-textured group of the USDA Soil Survey Manual, from memory: sand and loamy sand are sandy, sandy loam is moderately coarse; counted as
    /// sandy here because that is the lower limit (own).
    #[must_use]
    pub const fn is_sandy(self) -> bool {
        matches!(self, Self::Sand | Self::LoamySand | Self::SandyLoam)
    }
}

/// Whether a soil of this much clay, percent, can be sand, loamy sand or sandy loam.
///
/// # Source
/// USDA Soil Survey Manual, texture triangle, from memory: sandy loam ends at 20 % clay.
#[must_use]
pub fn may_be_sandy(clay_pct: f64) -> bool {
    clay_pct < 20.0
}

/// Texture class from sand, silt and clay.
///
/// # Units
/// Each in % of the fine earth.
///
/// # Range
/// Each 0 to 100 %, together 98 to 102 % (laboratories round); they are scaled to 100.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// USDA Natural Resources Conservation Service, "Soil Survey Manual" (Agriculture Handbook 18), texture triangle; class limits from memory.
///
/// # Example
/// ```
/// use lowstave::soil::{TextureClass, texture_class};
/// assert_eq!(texture_class(40.0, 40.0, 20.0), Ok(TextureClass::Loam));
/// ```
pub fn texture_class(
    sand_pct: f64,
    silt_pct: f64,
    clay_pct: f64,
) -> Result<TextureClass, SoilError> {
    let (sand, silt, clay) = (
        percent(sand_pct, "sand")?,
        percent(silt_pct, "silt")?,
        percent(clay_pct, "clay")?,
    );
    let scale = 100.0
        / within(
            sand + silt + clay,
            "sand, silt and clay together",
            "%",
            98.0..=102.0,
            "the texture triangle",
        )?;
    let (sand, silt, clay) = (sand * scale, silt * scale, clay * scale);
    Ok(if clay >= 27.0 {
        heavy(sand, silt, clay)
    } else {
        light(sand, silt, clay)
    })
}

/// Classes of 27 % clay and more.
fn heavy(sand: f64, silt: f64, clay: f64) -> TextureClass {
    match (clay >= 40.0, sand) {
        (true, _) if silt >= 40.0 => TextureClass::SiltyClay,
        (true, sand) if sand > 45.0 => TextureClass::SandyClay,
        (true, _) => TextureClass::Clay,
        (false, sand) if sand > 45.0 && clay >= 35.0 => TextureClass::SandyClay,
        (false, sand) if sand > 45.0 => TextureClass::SandyClayLoam,
        (false, sand) if sand > 20.0 => TextureClass::ClayLoam,
        (false, _) => TextureClass::SiltyClayLoam,
    }
}

/// Classes below 27 % clay.
fn light(sand: f64, silt: f64, clay: f64) -> TextureClass {
    if silt + 1.5 * clay < 15.0 {
        TextureClass::Sand
    } else if silt + 2.0 * clay < 30.0 {
        TextureClass::LoamySand
    } else if clay >= 20.0 && silt < 28.0 && sand > 45.0 {
        TextureClass::SandyClayLoam
    } else if silt >= 80.0 && clay < 12.0 {
        TextureClass::Silt
    } else if silt >= 50.0 {
        TextureClass::SiltLoam
    } else if clay >= 7.0 && sand <= 52.0 && silt >= 28.0 {
        TextureClass::Loam
    } else {
        TextureClass::SandyLoam
    }
}
