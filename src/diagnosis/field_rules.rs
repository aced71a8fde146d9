use super::LayerSummary;
use super::factor::air::{Push, Pushes};
use crate::rulebook::Rulebook;
use crate::units::UnitSystem;

/// What all zones of a field are judged by.
pub(super) struct FieldRules<'a> {
    pub rulebook: &'a Rulebook,
    pub crop: &'a str,
    /// What people call the crop.
    pub crop_label: &'a str,
    pub units: UnitSystem,
    pub pushes: &'a Pushes,
}

/// What was measured in one zone.
pub(super) struct ZoneSoil<'a> {
    pub profile: &'a [LayerSummary],
    pub pushes: &'a [Push],
}
