//! Organic matter that was measured, is very low, and that no rule judges: organic matter is never turned into carbon unasked, and a reader
//! who does not know the key that asks for it would take the silence for a clean bill.

use super::ZoneDiagnosis;
use super::wording::subject;
use crate::analyte::Analyte;
use crate::remark::Remark;
use crate::rulebook::{Rule, Rulebook, Statistic};
use crate::soil::{OrganicMatterFactor, organic_carbon_pct};
use crate::text::listed;
use crate::units::{UnitSystem, significant};

/// One remark, where organic carbon was not measured and organic matter would be past its rule's threshold by the conventional factor.
pub(super) fn remark(
    zones: &[ZoneDiagnosis],
    rulebook: &Rulebook,
    crop: &str,
    units: UnitSystem,
) -> Option<Remark> {
    let mut layers = zones.iter().flat_map(|zone| &zone.profile);
    if layers.any(|summary| summary.key.analyte == Analyte::OrganicCarbon) {
        return None;
    }
    let mut rules = rulebook.rules.iter();
    let rule = rules
        .find(|rule| rule.analyte == Analyte::OrganicCarbon && rule.statistic == Statistic::Mean)?;
    let low: Vec<(u32, f64, String)> = zones
        .iter()
        .filter_map(|zone| {
            let (percent, what) = low_matter(zone, rule, crop, units)?;
            Some((zone.number, percent, what))
        })
        .collect();
    let (_, percent, what) = low.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
    let threshold = rule.threshold_for(crop);
    let numbers: Vec<String> = low.iter().map(|(zone, ..)| zone.to_string()).collect();
    let place = match (zones.len(), numbers.as_slice()) {
        (1, _) => String::new(),
        (_, [one]) => format!(" in zone {one}"),
        _ => format!(" at its least (zones {})", listed(&numbers)),
    };
    let text = format!(
        "{what} is {} %{place}, very low: by the conventional factor that is {} % carbon, below the limit of {} %; it is not judged, because organic matter is turned into carbon only where the plan asks for it",
        significant(*percent, 2),
        significant(carbon_of(*percent)?, 2),
        significant(threshold, 2)
    );
    Some(Remark::warning("organic-matter-not-judged", text).help(
        "write organic_carbon = \"from organic matter\" in the plan and it is judged; better, have organic carbon measured",
    ))
}

/// The organic matter of a zone, percent, and what it is called, where its carbon would be past the rule's threshold.
fn low_matter(
    zone: &ZoneDiagnosis,
    rule: &Rule,
    crop: &str,
    units: UnitSystem,
) -> Option<(f64, String)> {
    let is_taken = |summary: &&super::LayerSummary| {
        summary.key.analyte == Analyte::OrganicMatter
            && summary.mean.is_finite()
            && rule.depth_rank(summary.key.depth).is_some()
    };
    let matter = zone.profile.iter().filter(is_taken);
    let summary = matter.min_by_key(|summary| rule.depth_rank(summary.key.depth))?;
    let carbon = carbon_of(summary.mean)?;
    let is_past = rule.is_past(carbon, rule.threshold_for(crop));
    is_past.then(|| (summary.mean, subject(&summary.key, units)))
}

fn carbon_of(matter: f64) -> Option<f64> {
    organic_carbon_pct(matter, OrganicMatterFactor::Conventional).ok()
}
