//! One zone, joined from what each stage says of it.

use super::degrees::Part;
use crate::diagnosis::{Finding, ZoneDiagnosis};
use crate::rates::ZoneRates;
use crate::units::Area;
use crate::zones::Zone;

/// One zone with all that is known of it.
#[derive(Debug)]
pub struct ZoneView<'a> {
    /// The number that people see.
    pub number: u32,
    /// Index into `Zones::zones`, which is also what `Zones::of_cell` holds.
    pub index: usize,
    /// Outline and area.
    pub zone: &'a Zone,
    /// What limits it.
    pub diagnosis: &'a ZoneDiagnosis,
    /// What it gets.
    pub rates: &'a ZoneRates,
    /// Its outline in whole steps of degrees.
    pub parts: Vec<Part>,
}

impl ZoneView<'_> {
    /// Area on the ellipsoid.
    #[must_use]
    pub fn area(&self) -> Area {
        Area::from_square_metres(self.zone.area_m2)
    }

    /// The limiting findings, one per factor, most severe first.
    #[must_use]
    pub fn limits(&self) -> Vec<&Finding> {
        let mut limits: Vec<&Finding> = Vec::new();
        for finding in self.diagnosis.limits() {
            if limits.iter().all(|seen| seen.factor != finding.factor) {
                limits.push(finding);
            }
        }
        limits
    }
}
