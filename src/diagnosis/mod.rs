//! Stage 6: each zone's profile is compared with the rulebook. Every finding carries value, spread, threshold, source,
//! severity and confidence, so that a reader can redo it by hand.
//!
//! A rule takes the layers of its analyte whose method and depth it names. Where there is none, other methods and depths are
//! reported as not comparable, never converted; where nothing was measured, that is said.

mod condition;
mod confidence;
mod cores_across;
mod cores_elsewhere;
mod cores_unused;
mod deciding_cores;
mod error;
mod evidence;
mod factor;
mod field_rules;
mod findings;
mod judge;
mod lone_cores;
mod not_known;
mod organic_matter;
mod own_cores;
mod profile;
mod ranking;
mod standing;
mod unknown_factor;
mod wording;

pub use condition::Unmet;
pub use error::DiagnosisError;
pub use findings::{
    BelowDetection, Diagnosis, ExpectedYield, Finding, LayerSummary, Outcome, ZoneDiagnosis,
};
pub use unknown_factor::{Because, NotKnown};

use crate::analyte::Analyte;
use crate::field::Field;
use crate::plan::Settings;
use crate::remark::Remark;
use crate::rulebook::{Crop, Rule, Rulebook};
use crate::surface::Surfaces;
use crate::units::UnitSystem;
use crate::zones::Zones;
use factor::air::Pushes;
use field_rules::{FieldRules, RuleHere, ZoneSoil};
use standing::Standing;

/// Finds what limits the crop in each zone, and numbers the zones.
///
/// # Errors
/// A crop that the rulebook does not know; zones or maps that do not belong to the field.
pub fn diagnose(
    settings: &Settings,
    field: &Field,
    surfaces: &Surfaces,
    zones: &Zones,
    rulebook: &Rulebook,
) -> Result<Diagnosis, Vec<DiagnosisError>> {
    let zone_map = zones;
    let standing = Standing::new(field, zone_map);
    let mut zones = zone_by_zone(settings, (&standing, surfaces, zones), rulebook, true)?;
    let elsewhere = cores_elsewhere::weigh(&standing, rulebook, settings, &mut zones);
    let not_known = not_known::of_field(zones.iter().flat_map(|zone| &zone.not_known));
    let mut remarks = remarks(&zones, settings.units);
    remarks.extend(detection_remark(&zones));
    let deciding = deciding_cores::remarks(field, surfaces, zone_map, &zones, settings.units);
    remarks.extend(deciding);
    remarks.extend(lone_cores::remarks(
        (field, surfaces, zone_map),
        &zones,
        rulebook,
        settings,
    ));
    remarks.extend(organic_matter::remark(
        &zones,
        rulebook,
        &settings.crop,
        settings.units,
    ));
    remarks.extend(elsewhere);
    remarks.extend(own_cores::remarks(&zones));
    remarks.extend(cores_unused::remarks(
        &standing,
        rulebook,
        &zones,
        settings.units,
    ));
    remarks.extend(cores_across::remarks(&cores_across::Ground {
        standing: &standing,
        surfaces,
        rulebook,
        crop: &settings.crop,
        units: settings.units,
        zones: &zones,
    }));
    Ok(Diagnosis {
        zones,
        not_known,
        remarks,
    })
}

/// The same for zones that are only compared with others: every number that a rate follows from, without remarks and without a word for
/// people; standard errors are not known.
///
/// # Errors
/// As [`diagnose`].
pub fn diagnose_without_words(
    settings: &Settings,
    field: &Field,
    surfaces: &Surfaces,
    zones: &Zones,
    rulebook: &Rulebook,
) -> Result<Diagnosis, Vec<DiagnosisError>> {
    let standing = Standing::new(field, zones);
    let zones = zone_by_zone(settings, (&standing, surfaces, zones), rulebook, false)?;
    Ok(Diagnosis {
        zones,
        not_known: Vec::new(),
        remarks: Vec::new(),
    })
}

/// What limits each zone.
fn zone_by_zone(
    settings: &Settings,
    (standing, surfaces, zones): (&Standing<'_>, &Surfaces, &Zones),
    rulebook: &Rulebook,
    has_words: bool,
) -> Result<Vec<ZoneDiagnosis>, Vec<DiagnosisError>> {
    let with_error = has_words;
    let profiles = profile::profiles(standing, surfaces, zones, with_error);
    let (crop, profiles) = crop_and_profiles(settings, profiles, rulebook)?;
    let pushes = Pushes::gather(standing.field, zones);
    let is_for_crop = |rule: &&Rule| rule.crops.is_empty() || rule.crops.contains(&crop.name);
    let rules = rulebook.rules.iter().filter(is_for_crop);
    let layers = profiles.first().map(Vec::as_slice).unwrap_or_default();
    let of_field = |rule| RuleHere::new(rule, layers, rulebook);
    let rules = FieldRules {
        rulebook,
        crop: &crop.name,
        crop_label: &crop.label,
        units: settings.units,
        pushes: &pushes,
        rules: rules.map(of_field).collect(),
        has_words,
    };
    let judged = judged(&rules, profiles, standing, zones);
    let zone = |(number, (zone, profile, findings)): (u32, Judged)| ZoneDiagnosis {
        number,
        zone,
        not_known: not_known::of_zone(&findings, number, rulebook),
        profile,
        findings,
    };
    Ok((1..).zip(judged).map(zone).collect())
}

type Profile = Vec<LayerSummary>;
/// The place of a zone on the map, its profile and its findings.
type Judged = (usize, Profile, Vec<Finding>);

/// The crop, and what was measured in each zone; all that is wrong with either.
fn crop_and_profiles<'a>(
    settings: &Settings,
    profiles: Result<Vec<Profile>, Vec<DiagnosisError>>,
    rulebook: &'a Rulebook,
) -> Result<(&'a Crop, Vec<Profile>), Vec<DiagnosisError>> {
    let crop = crop_of(settings, rulebook);
    match (crop, profiles) {
        (Ok(crop), Ok(profiles)) => Ok((crop, profiles)),
        (crop, profiles) => Err(crop
            .err()
            .into_iter()
            .chain(profiles.err().unwrap_or_default())
            .collect()),
    }
}

/// The place of each zone on the map with its profile and its findings, in the order in which zones are numbered.
fn judged(
    rules: &FieldRules<'_>,
    profiles: Vec<Profile>,
    standing: &Standing<'_>,
    zones: &Zones,
) -> Vec<Judged> {
    let mut judged = Vec::new();
    for (zone, mut profile) in profiles.into_iter().enumerate() {
        let pushes = rules.pushes.by_zone.get(zone);
        let findings = rules.findings(&ZoneSoil {
            profile: &profile,
            pushes: pushes.map(Vec::as_slice).unwrap_or_default(),
            standing,
            zone,
        });
        own_cores::believe(&findings, (&mut profile, standing, zone));
        judged.push((zone, profile, findings));
    }
    let area = |zone: usize| zones.zones.get(zone).map_or(0.0, |zone| zone.area_m2);
    // Drawn places come last: the others keep the numbers that strips and rates may name.
    let is_drawn = |zone: usize| zones.drawn.iter().any(|place| place.zone == zone);
    let known = |zone: usize| {
        let mut undrawn = zones.undrawn.iter();
        undrawn
            .find(|own| own.zone == Some(zone))
            .and_then(|own| own.number)
    };
    judged.sort_by(|a, b| {
        is_drawn(a.0)
            .cmp(&is_drawn(b.0))
            .then_with(|| known(a.0).cmp(&known(b.0)))
            .then_with(|| ranking::order_of_zones((&a.2, area(a.0), a.0), (&b.2, area(b.0), b.0)))
    });
    judged
}

fn crop_of<'a>(settings: &Settings, rulebook: &'a Rulebook) -> Result<&'a Crop, DiagnosisError> {
    rulebook
        .crop(&settings.crop)
        .ok_or_else(|| DiagnosisError::UnknownCrop {
            place: settings.place_of_crop(),
            crop: settings.crop.clone(),
            nearest: rulebook.nearest_crop(&settings.crop),
            known: rulebook
                .crops
                .iter()
                .map(|crop| crop.name.as_str())
                .collect::<Vec<_>>()
                .join(", "),
        })
}

/// Phosphorus by Mehlich-3 is read by plasma (ICP) or by colour, and the two are not the same number.
fn detection_remark(zones: &[ZoneDiagnosis]) -> Option<Remark> {
    let mut layers = zones.iter().flat_map(|zone| &zone.profile);
    let bare = layers.find(|summary| {
        let method = summary.key.method.as_ref();
        summary.key.analyte == Analyte::Phosphorus
            && method.is_some_and(|method| method.name() == "mehlich-3")
    })?;
    let what = format!(
        "{} was read by ICP or by colour? It is not said, and ICP reads higher",
        bare.key.show(UnitSystem::UnitedStates)
    );
    let help = "ask the laboratory and write method = \"mehlich-3-icp\" or \"mehlich-3-colour\": a state's table holds for one of the two";
    Some(Remark::info("mehlich-3-detection", what).help(help))
}

/// What concerns the whole field: results that no rule takes.
fn remarks(zones: &[ZoneDiagnosis], units: UnitSystem) -> Vec<Remark> {
    let mut remarks = Vec::new();
    let mut told: Vec<String> = Vec::new();
    for finding in zones
        .iter()
        .flat_map(|zone| &zone.findings)
        .filter(|finding| finding.outcome == Outcome::NotComparable)
    {
        let Some(layer) = &finding.layer else {
            continue;
        };
        let what = format!(
            "{}: {} could not be judged in some zones",
            finding.factor.name(),
            layer.show(units)
        );
        if !told.contains(&what) {
            told.push(what.clone());
            remarks.push(
                Remark::info("not-comparable", what)
                    .help("see the zone's findings for the method and depth that a rule wants"),
            );
        }
    }
    remarks
}
