use super::season_values::SeasonValues;
use crate::choice::Worth;
use crate::diagnosis::Diagnosis;
use crate::field::Field;
use crate::intake::InputFile;
use crate::plan::Settings;
use crate::rates::Prescription;
use crate::remark::Remark;
use crate::rulebook::Rulebook;
use crate::surface::Surfaces;
use crate::trial::StripPlan;
use crate::zones::Zones;

/// All that the deliverables are made from: the value of every stage.
#[derive(Debug, Clone, Copy)]
pub struct StageValues<'a> {
    /// What the user asked for.
    pub settings: &'a Settings,
    /// The field and its observations.
    pub field: &'a Field,
    /// Every file that was read.
    pub inputs: &'a [InputFile],
    /// The surfaces.
    pub surfaces: &'a Surfaces,
    /// The zones.
    pub zones: &'a Zones,
    /// What limits each zone.
    pub diagnosis: &'a Diagnosis,
    /// What goes where.
    pub prescription: &'a Prescription,
    /// The check strips; empty where the plan asks for none.
    pub strips: &'a StripPlan,
    /// What check strips could show, where the plan asks for none.
    pub offer: Option<&'a StripPlan>,
    /// What the zones are worth.
    pub worth: &'a Worth,
    /// The thresholds and products in force.
    pub rulebook: &'a Rulebook,
    /// What earlier seasons bring; empty where the plan names none.
    pub past: &'a SeasonValues,
    /// The remarks of all stages, in the order of the stages.
    pub remarks: &'a [Remark],
    /// Stage and seconds it took; the one thing that may differ between two runs.
    pub timings: &'a [(&'static str, f64)],
}
