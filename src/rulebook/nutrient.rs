use serde::Serialize;

use super::Factor;

/// A nutrient that is given by a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Nutrient {
    /// As P2O5, available.
    Phosphate,
    /// As K2O.
    Potash,
    /// Sulfur.
    Sulfur,
    /// Magnesium.
    Magnesium,
    /// Zinc.
    Zinc,
    /// Boron.
    Boron,
    /// Manganese.
    Manganese,
}

impl Nutrient {
    /// All of them, in the order in which they are told.
    pub const ALL: [Self; 7] = [
        Self::Phosphate,
        Self::Potash,
        Self::Sulfur,
        Self::Magnesium,
        Self::Zinc,
        Self::Boron,
        Self::Manganese,
    ];

    /// The word of the rulebook file.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Phosphate => "phosphate",
            Self::Potash => "potash",
            Self::Sulfur => "sulfur",
            Self::Magnesium => "magnesium",
            Self::Zinc => "zinc",
            Self::Boron => "boron",
            Self::Manganese => "manganese",
        }
    }

    /// The nutrient in words, with its form.
    #[must_use]
    pub fn label(self) -> &'static str {
        match self {
            Self::Phosphate => "phosphate (P2O5)",
            Self::Potash => "potash (K2O)",
            other => other.key(),
        }
    }

    /// The factor that is answered with it.
    #[must_use]
    pub fn factor(self) -> Factor {
        match self {
            Self::Phosphate => Factor::Phosphorus,
            Self::Potash => Factor::Potassium,
            Self::Sulfur => Factor::Sulfur,
            Self::Magnesium => Factor::Magnesium,
            Self::Zinc => Factor::Zinc,
            Self::Boron => Factor::Boron,
            Self::Manganese => Factor::Manganese,
        }
    }

    /// The part of an analysis that counts for it in the first season.
    #[must_use]
    pub fn part(self) -> &'static str {
        match self {
            Self::Phosphate => "available_phosphate",
            other => other.key(),
        }
    }

    /// The nutrients with their words, for a reader.
    pub(super) fn words() -> [(&'static str, Self); 7] {
        Self::ALL.map(|nutrient| (nutrient.key(), nutrient))
    }
}
