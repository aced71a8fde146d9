//! A core past a threshold that its zone is not past, and that its neighbours contradict in several layers at once. A bag that was mixed up
//! is odd in many layers too, but either way that place asks for a second core: it is no note at the end of a list.

use super::profile::zone_at;
use super::wording::{shown_unit, subject, with_unit};
use super::{Finding, Outcome, ZoneDiagnosis};
use crate::field::Field;
use crate::plan::Settings;
use crate::remark::Remark;
use crate::rulebook::{Rulebook, Statistic};
use crate::surface::{OddCore, Surfaces};
use crate::units::{UnitSystem, significant, spoken};
use crate::zones::Zones;

/// Most cores that are told of.
const MOST_TOLD: usize = 3;

/// One remark for each such core, the one that is odd in most layers first.
pub(super) fn remarks(
    (field, surfaces, zones): (&Field, &Surfaces, &Zones),
    judged: &[ZoneDiagnosis],
    rulebook: &Rulebook,
    settings: &Settings,
) -> Vec<Remark> {
    let mut cores: Vec<Vec<&OddCore>> = Vec::new();
    for odd in &surfaces.odd_cores {
        match cores.iter_mut().find(|known| is_one_core(known[0], odd)) {
            Some(core) => core.push(odd),
            None => cores.push(vec![odd]),
        }
    }
    let from = rulebook.numbers.lone_core_layers;
    cores.retain(|core| core.len() as f64 >= from);
    cores.sort_by(|a, b| {
        let by_layers = b.len().cmp(&a.len());
        by_layers.then_with(|| a[0].name.cmp(&b[0].name))
    });
    let told = cores.iter().filter_map(|core| {
        let at = core[0].at;
        let index = zone_at(field, zones, at.0, at.1)?;
        let zone = judged.iter().find(|zone| zone.zone == index)?;
        let (odd, finding) = past(core, zone, rulebook, &settings.crop)?;
        Some(remark(
            core.len(),
            odd,
            (zone, judged.len()),
            finding,
            settings.units,
        ))
    });
    told.take(MOST_TOLD).collect()
}

/// Whether two odd results are of one core: a name at one place.
fn is_one_core(one: &OddCore, other: &OddCore) -> bool {
    let bits = |core: &OddCore| (core.at.0.to_bits(), core.at.1.to_bits());
    one.name == other.name && bits(one) == bits(other)
}

/// The most severe adequate finding whose threshold the core is past.
fn past<'a>(
    core: &[&'a OddCore],
    zone: &'a ZoneDiagnosis,
    rulebook: &Rulebook,
    crop: &str,
) -> Option<(&'a OddCore, &'a Finding)> {
    let of_finding = |finding: &'a Finding| {
        let rule = rulebook.rule(&finding.rule)?;
        let is_asked = finding.outcome == Outcome::Adequate
            && finding.inferred.is_none()
            && rule.statistic == Statistic::Mean;
        let layer = finding.layer.as_ref().filter(|_| is_asked)?;
        let odd = core.iter().copied().find(|odd| odd.key == *layer)?;
        let value = odd.observed * super::wording::factor_between(&odd.unit, &rule.unit)?;
        let threshold = rule.threshold_for(crop);
        rule.is_past(value, threshold)
            .then(|| (odd, finding, rule.severity(value, crop)))
    };
    let found = zone.findings.iter().filter_map(of_finding);
    let worst = found.max_by(|a, b| a.2.total_cmp(&b.2))?;
    Some((worst.0, worst.1))
}

fn remark(
    layers: usize,
    odd: &OddCore,
    (zone, zones): (&ZoneDiagnosis, usize),
    finding: &Finding,
    units: UnitSystem,
) -> Remark {
    let (factor, unit) = shown_unit(&odd.unit, units);
    let show = |value: f64| with_unit(&significant(spoken(value * factor, unit), 3), unit);
    let whose = match zones {
        1 => "the field".to_owned(),
        _ => format!("zone {}", zone.number),
    };
    let what = format!(
        "{} has {} {}, {} {}, where its neighbours suggest {}; {} of its results differ from its neighbours' at once. {} is judged by its mean, and nothing is given for that place",
        odd.name,
        subject(&odd.key, units),
        show(odd.observed),
        finding.side.name(),
        with_unit(&significant(finding.threshold, 4), &finding.unit),
        show(odd.predicted),
        layers,
        crate::text::capital(&whose)
    );
    let remark = Remark::warning("lone-core", what).help(
        "pull a second core there: if it reads the same, treat that place by itself ([[override]] inside = [...]); if not, the bag was mixed up",
    );
    match odd.place.clone() {
        Some(place) => remark.at(place),
        None => remark,
    }
}
