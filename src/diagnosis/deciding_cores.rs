//! Cores that their neighbours contradict and that decide a finding: without the core the zone would stand on the other side of a threshold.

use super::profile::zone_at;
use super::{Finding, Outcome, ZoneDiagnosis};
use crate::field::Field;
use crate::remark::Remark;
use crate::rulebook::Side;
use crate::surface::{OddCore, Surfaces};
use crate::units::{UnitSystem, significant};
use crate::zones::Zones;

/// One remark for each core and factor that it decides.
pub(super) fn remarks(
    field: &Field,
    surfaces: &Surfaces,
    zones: &Zones,
    judged: &[ZoneDiagnosis],
    units: UnitSystem,
) -> Vec<Remark> {
    let mut remarks: Vec<Remark> = Vec::new();
    for core in &surfaces.odd_cores {
        let index = zone_at(field, zones, core.at.0, core.at.1);
        let zone = judged.iter().find(|zone| Some(zone.zone) == index);
        let decided = zone.and_then(|zone| {
            let mut findings = zone.findings.iter();
            findings
                .find(|finding| decides(core, finding))
                .map(|finding| (zone, finding))
        });
        if let Some((zone, finding)) = decided {
            remarks.push(remark(core, zone, finding, units));
        }
    }
    remarks
}

/// Whether the zone's mean without the core would be judged the other way. The mean of a map weighs its cores about alike (own).
fn decides(core: &OddCore, finding: &Finding) -> bool {
    let is_judged = matches!(finding.outcome, Outcome::Limiting | Outcome::Adequate);
    let is_its_layer = finding.layer.as_ref() == Some(&core.key) && finding.unit == *core.unit;
    let Some(value) = finding.value.filter(|_| is_judged && is_its_layer) else {
        return false;
    };
    let share = 1.0 / finding.cores.max(1) as f64;
    let without = value - share * (core.observed - core.predicted);
    let is_past = |value: f64| match finding.side {
        Side::Below => value < finding.threshold,
        Side::Above => value > finding.threshold,
    };
    is_past(value) != is_past(without)
}

fn remark(core: &OddCore, zone: &ZoneDiagnosis, finding: &Finding, units: UnitSystem) -> Remark {
    let unit = if finding.unit == "pH" {
        ""
    } else {
        finding.unit.as_str()
    };
    let number = |value: f64| {
        let text = format!("{} {unit}", significant(value, 3));
        text.trim_end().to_owned()
    };
    let verdict = match finding.outcome {
        Outcome::Limiting => "limiting",
        _ => "adequate",
    };
    let what = format!(
        "{} has {} {}, neighbours suggest {}; it alone makes {} {verdict} in zone {}",
        core.name,
        core.key.show(units),
        number(core.observed),
        number(core.predicted),
        finding.factor.name(),
        zone.number
    );
    let remark = Remark::warning("core-decides", what)
        .help("check for a mix-up, or test that place again, before you act on it");
    match core.place.clone() {
        Some(place) => remark.at(place),
        None => remark,
    }
}
