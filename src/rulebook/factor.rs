use serde::{Deserialize, Serialize};

/// What can limit the crop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Factor {
    /// Too little air: compaction.
    Air,
    /// Too little carbon.
    Carbon,
    /// Too little calcium.
    Calcium,
    /// Too little phosphorus.
    Phosphorus,
    /// Too acid.
    Acidity,
    /// Too acid in the top inches, over a plough layer that is not.
    SurfaceAcidity,
    /// Too alkaline.
    Alkalinity,
    /// Too much magnesium.
    MagnesiumExcess,
    /// Too much sodium.
    Sodium,
    /// Too much salt.
    Salt,
    /// Too little potassium.
    Potassium,
    /// Too little sulfur.
    Sulfur,
    /// Too little boron.
    Boron,
    /// Too little zinc.
    Zinc,
    /// Too little magnesium.
    Magnesium,
    /// Manganese that the crop cannot get.
    Manganese,
    /// Iron that the crop cannot get.
    Iron,
    /// Far too much phosphorus.
    PhosphorusExcess,
    /// Too much boron.
    BoronExcess,
}

impl Factor {
    /// All factors, in the order in which they are looked at.
    pub const ALL: [Self; 19] = [
        Self::Air,
        Self::Carbon,
        Self::Calcium,
        Self::Phosphorus,
        Self::Acidity,
        Self::SurfaceAcidity,
        Self::Alkalinity,
        Self::MagnesiumExcess,
        Self::Sodium,
        Self::Salt,
        Self::Potassium,
        Self::Sulfur,
        Self::Boron,
        Self::Zinc,
        Self::Magnesium,
        Self::Manganese,
        Self::Iron,
        Self::PhosphorusExcess,
        Self::BoronExcess,
    ];

    /// The word that is printed and written to `limit_1` and the others.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Air => "air",
            Self::Carbon => "carbon",
            Self::Calcium => "calcium",
            Self::Phosphorus => "phosphorus",
            Self::Acidity => "acidity",
            Self::SurfaceAcidity => "surface acidity",
            Self::Alkalinity => "alkalinity",
            Self::MagnesiumExcess => "magnesium excess",
            Self::Sodium => "sodium",
            Self::Salt => "salt",
            Self::Potassium => "potassium",
            Self::Sulfur => "sulfur",
            Self::Boron => "boron",
            Self::Zinc => "zinc",
            Self::Magnesium => "magnesium",
            Self::Manganese => "manganese",
            Self::Iron => "iron",
            Self::PhosphorusExcess => "phosphorus excess",
            Self::BoronExcess => "boron excess",
        }
    }
}

impl Factor {
    /// The word of the rulebook file: [`Factor::name`] with hyphens for blanks.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::MagnesiumExcess => "magnesium-excess",
            Self::SurfaceAcidity => "surface-acidity",
            Self::PhosphorusExcess => "phosphorus-excess",
            Self::BoronExcess => "boron-excess",
            other => other.name(),
        }
    }
}

/// On which side of a threshold the trouble lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// The value is too low.
    Below,
    /// The value is too high.
    Above,
}

/// What a number of the rulebook rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Basis {
    /// A publication, named in `source`.
    #[serde(rename = "published")]
    Published,
    /// A rule of thumb of the trade.
    #[serde(rename = "common practice")]
    CommonPractice,
    /// Our own judgement.
    #[serde(rename = "own")]
    Own,
}

impl Basis {
    /// The word that is printed.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::CommonPractice => "common practice",
            Self::Own => "own",
        }
    }
}

impl Side {
    /// The word that is printed.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Below => "below",
            Self::Above => "above",
        }
    }
}
