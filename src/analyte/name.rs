use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use serde::{Serialize, Serializer};
use thiserror::Error;

/// A word that is no analyte of the plan file.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "\"{0}\" is not an analyte; other numbers that may shape the zones are written \"covariate:name\""
)]
pub struct UnknownAnalyte(pub String);

macro_rules! analytes {
    ($($variant:ident = $name:literal : $label:literal),+ $(,)?) => {
        /// A measured or derived quantity, as named after `is` in the plan file.
        #[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Analyte {
            $(#[doc = $label] $variant,)+
            /// Any other number that may shape the zones but feeds no rule: elevation, apparent conductivity.
            Covariate(Arc<str>),
        }

        impl Analyte {
            /// All analytes but the covariates, in the order of the plan file's list.
            pub const NAMED: &'static [Analyte] = &[$(Self::$variant),+];

            /// The word of the plan file; `covariate:<name>` for a covariate.
            #[must_use]
            pub fn name(&self) -> String {
                match self {
                    $(Self::$variant => $name.to_owned(),)+
                    Self::Covariate(name) => format!("covariate:{name}"),
                }
            }

            /// What a person calls it.
            #[must_use]
            pub fn label(&self) -> String {
                match self {
                    $(Self::$variant => $label.to_owned(),)+
                    Self::Covariate(name) => name.to_string(),
                }
            }
        }

        impl FromStr for Analyte {
            type Err = UnknownAnalyte;
            fn from_str(text: &str) -> Result<Self, UnknownAnalyte> {
                match text {
                    $($name => Ok(Self::$variant),)+
                    _ => match text.strip_prefix("covariate:").map(str::trim) {
                        Some(name) if !name.is_empty() => Ok(Self::Covariate(name.into())),
                        _ => Err(UnknownAnalyte(text.to_owned())),
                    },
                }
            }
        }
    };
}

analytes! {
    Ph = "ph": "pH",
    BufferPh = "buffer_ph": "buffer pH",
    Carbonates = "carbonates": "carbonates",
    ExchangeableAcidity = "exchangeable_acidity": "exchangeable acidity",
    OrganicMatter = "organic_matter": "organic matter",
    OrganicCarbon = "organic_carbon": "organic carbon",
    TotalCarbon = "total_carbon": "total carbon",
    TotalNitrogen = "total_nitrogen": "total nitrogen",
    WaterCarbon = "water_carbon": "water-extractable carbon",
    WaterNitrogen = "water_nitrogen": "water-extractable nitrogen",
    CarbonNitrogenRatio = "cn_ratio": "C:N ratio",
    Phosphorus = "p": "phosphorus",
    Potassium = "k": "potassium",
    Calcium = "ca": "calcium",
    Magnesium = "mg": "magnesium",
    Sodium = "na": "sodium",
    Sulfur = "s": "sulfur",
    Boron = "b": "boron",
    Zinc = "zn": "zinc",
    Manganese = "mn": "manganese",
    Copper = "cu": "copper",
    Iron = "fe": "iron",
    CationExchangeCapacity = "cec": "CEC",
    CalciumSaturation = "ca_pct": "calcium saturation",
    MagnesiumSaturation = "mg_pct": "magnesium saturation",
    PotassiumSaturation = "k_pct": "potassium saturation",
    SodiumSaturation = "na_pct": "sodium saturation",
    HydrogenSaturation = "h_pct": "hydrogen saturation",
    ElectricalConductivity = "ec": "electrical conductivity",
    SodiumAdsorptionRatio = "sar": "sodium adsorption ratio",
    Clay = "clay": "clay",
    Silt = "silt": "silt",
    Sand = "sand": "sand",
    BulkDensity = "bulk_density": "bulk density",
    Moisture = "moisture": "moisture",
    ConeIndex = "cone_index": "cone index",
    Brix = "brix": "leaf-sap Brix",
    Stand = "stand": "stand",
    Yield = "yield": "yield",
}

impl fmt::Display for Analyte {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name())
    }
}

impl Serialize for Analyte {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
