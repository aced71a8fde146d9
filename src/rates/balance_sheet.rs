//! The removal sheet of a field: what harvests take, what products bring, and what is left.

use serde::Serialize;

use crate::rulebook::Nutrient;
use crate::units::MassPerArea;

/// The removal sheet of a field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Balance {
    /// What was harvested last, where the plan names it.
    pub last: Vec<CropTake>,
    /// What the plan's crop takes at its goal.
    pub goal: Option<CropTake>,
    /// Why something is missing, in words.
    pub missing: Vec<String>,
    /// Zone by zone, by rising number.
    pub zones: Vec<ZoneBalance>,
}

/// What a harvest takes off the field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CropTake {
    /// What people call the crop.
    pub crop: String,
    /// The yield with its unit.
    pub harvest: String,
    /// How much of each nutrient.
    pub takes: Vec<(Nutrient, MassPerArea)>,
    /// Where the removal comes from.
    pub source: String,
}

/// The balance of a zone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ZoneBalance {
    /// The number that people see.
    pub number: u32,
    /// One entry per nutrient.
    pub nutrients: Vec<NutrientBalance>,
}

/// The balance of a nutrient.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NutrientBalance {
    /// The nutrient.
    pub nutrient: Nutrient,
    /// What the products bring that acts in the first season.
    pub brings_now: MassPerArea,
    /// What they bring in all.
    pub brings_in_all: MassPerArea,
    /// Harvests like the goal without more product, and what is left then; less than nothing is what the soil gave. Empty without a goal.
    pub left: Vec<(u8, MassPerArea)>,
}
