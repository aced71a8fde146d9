use crate::diagnosis::Diagnosis;
use crate::field::Field;
use crate::plan::Settings;
use crate::rulebook::Numbers;
use crate::zones::Zones;

/// What this season's run holds.
#[derive(Debug, Clone, Copy)]
pub struct Today<'a> {
    /// What the user asked for.
    pub settings: &'a Settings,
    /// The field and its observations.
    pub field: &'a Field,
    /// The zones.
    pub zones: &'a Zones,
    /// What limits them.
    pub diagnosis: &'a Diagnosis,
    /// The numbers of the rulebook.
    pub numbers: &'a Numbers,
}
