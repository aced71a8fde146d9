use super::SoilError;
use super::error::within;

/// How electrical conductivity was measured. The same soil reads differently by each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ConductivityMethod {
    /// Extract of a saturated paste (`ECe`), what the class tables are made for.
    SaturatedPaste,
    /// One part soil to one part water, for screening.
    OneToOne,
    /// One to two.
    OneToTwo,
    /// One to five.
    OneToFive,
}

impl ConductivityMethod {
    /// All methods.
    pub const ALL: [Self; 4] = [
        Self::SaturatedPaste,
        Self::OneToOne,
        Self::OneToTwo,
        Self::OneToFive,
    ];

    /// The name in kebab case, as a test method is written.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::SaturatedPaste => "saturated-paste",
            Self::OneToOne => "1:1",
            Self::OneToTwo => "1:2",
            Self::OneToFive => "1:5",
        }
    }

    /// The method of a name; `paste` is the saturated paste.
    ///
    /// # Errors
    /// [`SoilError::UnknownName`] with the names known.
    pub fn from_name(name: &str) -> Result<Self, SoilError> {
        let name = if name == "paste" {
            Self::SaturatedPaste.name()
        } else {
            name
        };
        Self::ALL
            .into_iter()
            .find(|method| method.name() == name)
            .ok_or_else(|| SoilError::UnknownName {
                what: "conductivity method",
                found: name.to_owned(),
                allowed: Self::ALL.map(Self::name).join(", "),
            })
    }
}

/// Grade of salinity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SalinityGrade {
    /// Below 2 dS/m.
    NonSaline,
    /// 2 to below 4.
    VerySlight,
    /// 4 to below 8.
    Slight,
    /// 8 to below 16.
    Moderate,
    /// 16 and more.
    Strong,
}

impl SalinityGrade {
    /// The word of the survey manual.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::NonSaline => "non-saline",
            Self::VerySlight => "very slightly saline",
            Self::Slight => "slightly saline",
            Self::Moderate => "moderately saline",
            Self::Strong => "strongly saline",
        }
    }
}

/// Upper edges of the grades, dS/m.
const GRADES: [(f64, SalinityGrade); 4] = [
    (2.0, SalinityGrade::NonSaline),
    (4.0, SalinityGrade::VerySlight),
    (8.0, SalinityGrade::Slight),
    (16.0, SalinityGrade::Moderate),
];

/// Grade of salinity of a saturated-paste conductivity. Soil with gypsum reads about 2 dS/m too high.
///
/// # Units
/// dS/m.
///
/// # Range
/// 0 to 200 dS/m, saturated paste only.
///
/// # Errors
/// [`SoilError::NotComparable`] for another method; [`SoilError`] outside the range.
///
/// # Source
/// USDA Natural Resources Conservation Service, "Soil Survey Manual", from memory; gypsum: Ayers and Westcot, as quoted.
pub fn salinity_grade(
    conductivity_ds_m: f64,
    method: ConductivityMethod,
) -> Result<SalinityGrade, SoilError> {
    let conductivity = paste_only(conductivity_ds_m, method)?;
    Ok(GRADES
        .iter()
        .find(|(edge, _)| conductivity < *edge)
        .map_or(SalinityGrade::Strong, |(_, grade)| *grade))
}

/// Class of a salt-affected soil.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SaltClass {
    /// Neither.
    Normal,
    /// Too much salt.
    Saline,
    /// Too much sodium.
    Sodic,
    /// Both.
    SalineSodic,
}

impl SaltClass {
    /// The word of the handbook.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Normal => "normal",
            Self::Saline => "saline",
            Self::Sodic => "sodic",
            Self::SalineSodic => "saline-sodic",
        }
    }
}

/// How much sodium there is, by either measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SodiumMeasure {
    /// Sodium adsorption ratio of the saturated-paste extract; sodic from 13.
    AdsorptionRatio(f64),
    /// Exchangeable sodium percentage; sodic from 15.
    ExchangeablePct(f64),
}

/// Class of a salt-affected soil: saline from `ECe` 4 dS/m, sodic from SAR 13 or ESP 15.
///
/// The handbook prints "less than" and "greater than"; a value on the edge is counted as affected. It adds that pH lies above about 8.5
/// in sodic soil, which follows from the sodium and is not asked for here. Structure can suffer from ESP 5 to 6 on a low-salt clay.
///
/// # Range
/// `ECe` 0 to 200 dS/m by saturated paste; SAR or ESP 0 to 100.
///
/// # Errors
/// [`SoilError::NotComparable`] for another conductivity method; [`SoilError`] outside the range.
///
/// # Source
/// United States Salinity Laboratory 1954, USDA Handbook 60, as quoted by the Colorado Division of Reclamation, Mining and
/// Safety; ESP 15: Montana State University, "Soil test interpretation".
pub fn salt_class(
    conductivity_ds_m: f64,
    method: ConductivityMethod,
    sodium: SodiumMeasure,
) -> Result<SaltClass, SoilError> {
    let is_saline = paste_only(conductivity_ds_m, method)? >= 4.0;
    let is_sodic = match sodium {
        SodiumMeasure::AdsorptionRatio(ratio) => {
            within(ratio, "SAR", "", 0.0..=100.0, "the classes of Handbook 60")? >= 13.0
        }
        SodiumMeasure::ExchangeablePct(pct) => {
            within(pct, "ESP", "%", 0.0..=100.0, "the classes of Handbook 60")? >= 15.0
        }
    };
    Ok(match (is_saline, is_sodic) {
        (false, false) => SaltClass::Normal,
        (true, false) => SaltClass::Saline,
        (false, true) => SaltClass::Sodic,
        (true, true) => SaltClass::SalineSodic,
    })
}

/// Yield of a crop on salty ground, percent of that on sound ground: full up to a threshold, then a straight fall.
///
/// `100 - slope (ECe - threshold)`, between 0 and 100. A guide to relative tolerance only: seedlings bear less, and soil with gypsum about 2 dS/m more.
///
/// # Units
/// dS/m of the saturated paste; slope in percent for each dS/m.
///
/// # Range
/// Conductivity 0 to 200 dS/m, threshold 0 to 50 dS/m, slope more than 0 to 100.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Maas and Hoffman's line as printed in the annex of FAO document y4263e (Maas and Grattan 1999).
///
/// # Example
/// ```
/// // Established alfalfa, threshold 2.0, slope 7.3 (numbers from memory).
/// let yield_left = lowstave::soil::relative_yield(4.0, 2.0, 7.3).unwrap();
/// assert!((yield_left - 85.4).abs() < 1e-9);
/// ```
pub fn relative_yield(
    conductivity_ds_m: f64,
    threshold_ds_m: f64,
    slope: f64,
) -> Result<f64, SoilError> {
    let rule = "the salt tolerance of crops";
    let conductivity = within(
        conductivity_ds_m,
        "electrical conductivity",
        "dS/m",
        0.0..=200.0,
        rule,
    )?;
    let threshold = within(threshold_ds_m, "the threshold", "dS/m", 0.0..=50.0, rule)?;
    let slope = within(slope, "the slope", "%", f64::MIN_POSITIVE..=100.0, rule)?;
    Ok((100.0 - slope * (conductivity - threshold)).clamp(0.0, 100.0))
}

/// A guess of the saturated-paste conductivity from a 1:1 reading: twice it. Print it as a guess; never class it unflagged.
///
/// # Range
/// 0 to 50 dS/m.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// `common practice`. Published conversions depend on texture and kind of salt: He et al. 2013, Can. J. Soil Sci. 93:585-594.
pub fn rough_paste_conductivity_from_one_to_one(conductivity_ds_m: f64) -> Result<f64, SoilError> {
    Ok(2.0
        * within(
            conductivity_ds_m,
            "electrical conductivity",
            "dS/m",
            0.0..=50.0,
            "a 1:1 extract",
        )?)
}

fn paste_only(conductivity_ds_m: f64, method: ConductivityMethod) -> Result<f64, SoilError> {
    if method != ConductivityMethod::SaturatedPaste {
        return Err(SoilError::NotComparable {
            what: "electrical conductivity",
            found: method.name().to_owned(),
            wanted: ConductivityMethod::SaturatedPaste.name().to_owned(),
            help: "ask the laboratory for the saturated-paste extract",
        });
    }
    within(
        conductivity_ds_m,
        "electrical conductivity",
        "dS/m",
        0.0..=200.0,
        "a soil extract",
    )
}
