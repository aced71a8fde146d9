use crate::diagnosis::Diagnosis;
use crate::field::Field;
use crate::plan::Settings;
use crate::rates::Prescription;
use crate::rulebook::Rulebook;
use crate::zones::Zones;

/// The values that a season's record is made from.
#[derive(Debug, Clone, Copy)]
pub struct SeasonSources<'a> {
    /// What the user asked for.
    pub settings: &'a Settings,
    /// The field and its observations.
    pub field: &'a Field,
    /// The zones.
    pub zones: &'a Zones,
    /// What limits them.
    pub diagnosis: &'a Diagnosis,
    /// What goes where.
    pub prescription: &'a Prescription,
    /// The thresholds and products in force.
    pub rulebook: &'a Rulebook,
}
