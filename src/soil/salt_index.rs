use super::SoilError;
use super::error::{percent, within};

/// A fertilizer's salt index: osmotic effect against an equal weight of sodium nitrate, which is 100.
///
/// It ranks materials; it gives no limit in pounds. Fish, molasses and humates have none that can be relied on: their
/// conductivity, potassium, nitrogen, sodium and chloride tell more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaltIndex {
    /// The material.
    pub material: &'static str,
    /// Index by weight.
    pub by_weight: f64,
    /// Index per unit of plant nutrient (20 lb, 1 % of a short ton).
    pub per_unit: f64,
    /// The publication, and what of it was recalled.
    pub source: &'static str,
}

const RADER: &str =
    "Rader, White and Whittaker 1943, as quoted; per unit from memory (Mortvedt 2001)";
const RADER_MEMORY: &str = "Rader, White and Whittaker 1943, from memory";
const MORTVEDT: &str = "Mortvedt 2001, from memory";

macro_rules! salt {
    ($material:literal, $by_weight:literal, $per_unit:literal, $source:expr) => {
        SaltIndex {
            material: $material,
            by_weight: $by_weight,
            per_unit: $per_unit,
            source: $source,
        }
    };
}

/// Salt indices in print.
pub const SALT_INDICES: [SaltIndex; 15] = [
    salt!("sodium nitrate", 100.0, 6.06, RADER),
    salt!("ammonium nitrate", 105.0, 2.99, RADER),
    salt!("urea", 75.0, 1.618, RADER),
    salt!("UAN 28", 63.0, 2.250, MORTVEDT),
    salt!("ammonium sulfate", 69.0, 3.253, RADER_MEMORY),
    salt!("MAP", 30.0, 0.405, RADER),
    salt!("DAP", 34.0, 0.456, RADER),
    salt!("10-34-0", 20.0, 0.455, MORTVEDT),
    salt!("triple superphosphate", 10.0, 0.210, RADER),
    salt!("potassium chloride", 116.0, 1.936, RADER),
    salt!("potassium sulfate", 46.0, 0.853, RADER_MEMORY),
    salt!("monopotassium phosphate", 8.4, 0.097, RADER_MEMORY),
    salt!("potassium thiosulfate", 64.0, 2.560, MORTVEDT),
    salt!("gypsum", 8.1, 0.247, RADER_MEMORY),
    salt!("lime", 4.7, 0.083, RADER_MEMORY),
];

/// The salt index of a material.
///
/// # Errors
/// [`SoilError::UnknownName`] with the materials known.
pub fn salt_index(material: &str) -> Result<SaltIndex, SoilError> {
    SALT_INDICES
        .into_iter()
        .find(|index| index.material.eq_ignore_ascii_case(material))
        .ok_or_else(|| SoilError::UnknownName {
            what: "salt index",
            found: material.to_owned(),
            allowed: SALT_INDICES.map(|index| index.material).join(", "),
        })
}

/// Salt index of a mix: the sum over its materials of units of nutrient per ton times index per unit.
///
/// # Units
/// Units of 20 lb nutrient per short ton of mix, which are its percent of N + P2O5 + K2O from that material.
///
/// # Range
/// Units 0 to 100, all together no more than 100; index per unit 0 to 10.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Mortvedt 2001, "Calculating salt index", from memory; a 7-21-7 from potassium chloride is published as 27.8.
///
/// # Example
/// ```
/// use lowstave::soil::{salt_index, salt_index_of_mix};
/// let per_unit = |name| salt_index(name).unwrap().per_unit;
/// let mix = [(27.18, per_unit("10-34-0")), (0.824, per_unit("UAN 28")), (7.0, per_unit("potassium chloride"))];
/// assert!((salt_index_of_mix(&mix).unwrap() - 27.8).abs() < 0.05);
/// ```
pub fn salt_index_of_mix(parts: &[(f64, f64)]) -> Result<f64, SoilError> {
    let (mut index, mut all) = (0.0, 0.0);
    for &(units, per_unit) in parts {
        let units = percent(units, "units of nutrient")?;
        index += units
            * within(
                per_unit,
                "the index per unit",
                "",
                0.0..=10.0,
                "a salt index",
            )?;
        all += units;
    }
    within(
        all,
        "units of nutrient together",
        "",
        0.0..=100.000_001,
        "a ton of mix",
    )?;
    Ok(index)
}

/// Index per unit from a material's index by weight and its analysis: `index / (N + P2O5 + K2O)`.
///
/// # Range
/// Index 0 to 200; analysis together above 0 to 100 %.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Definition; 20.0 / 44 = 0.4545 for 10-34-0, printed 0.455.
pub fn salt_index_per_unit(by_weight: f64, nutrients_pct: f64) -> Result<f64, SoilError> {
    let index = within(by_weight, "the salt index", "", 0.0..=200.0, "a salt index")?;
    Ok(index
        / within(
            nutrients_pct,
            "the nutrients together",
            "%",
            1.0e-6..=100.0,
            "a salt index",
        )?)
}
