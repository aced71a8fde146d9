//! What the readers of one table need to know besides its bytes, and where they put what they have to say.

use std::sync::Arc;

use crate::plan::{BelowDetection, PointsSettings, Settings};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::units::UnitSystem;

use super::error::IntakeError;

/// The settings of the whole plan that bear on reading.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingRules {
    /// What a result below the detection limit counts as.
    pub below_detection: BelowDetection,
    /// Bulk density in g/cm³, where the user knows it.
    pub bulk_density: Option<f64>,
    /// Crop, for bushels.
    pub crop: String,
    /// Season, a calendar year, that dates of samples are compared with; `None` where it is not settled yet.
    pub season: Option<u16>,
    /// Units of what is told of the readings.
    pub units: UnitSystem,
}

impl ReadingRules {
    /// The rules of a plan.
    #[must_use]
    pub fn from_settings(settings: &Settings) -> Self {
        Self {
            below_detection: settings.below_detection,
            bulk_density: settings.bulk_density,
            crop: settings.crop.clone(),
            season: Some(settings.season),
            units: settings.units,
        }
    }
}

/// One table being read.
pub(super) struct Context<'a> {
    /// The file as the user named it.
    pub file: Arc<str>,
    /// What the plan says of it.
    pub settings: &'a PointsSettings,
    /// What the plan says of all.
    pub rules: &'a ReadingRules,
    /// What can go on.
    pub remarks: Vec<Remark>,
    /// What cannot.
    pub errors: Vec<IntakeError>,
}

impl<'a> Context<'a> {
    pub(super) fn new(settings: &'a PointsSettings, rules: &'a ReadingRules) -> Self {
        Self {
            file: super::source::shown(&settings.file).into(),
            settings,
            rules,
            remarks: Vec::new(),
            errors: Vec::new(),
        }
    }

    /// The file as a place.
    pub(super) fn place(&self) -> Place {
        Place::file(Arc::clone(&self.file))
    }

    /// A column as a place.
    pub(super) fn column(&self, name: &str) -> Place {
        self.place().in_column(name)
    }
}
