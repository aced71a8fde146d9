//! A limit on part of a zone whose mean is not past it. A product goes out for the cells that ask for it, so the zone's reason and its order of
//! fixes have to know them too.

use super::pending_rate::PendingRate;
use super::zone_context::ZoneContext;
use crate::diagnosis::{Finding, Outcome};
use crate::rulebook::Factor;
use crate::units::fixed;

/// The cells of a zone that are past a threshold that their mean is not past.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PartPast {
    /// Their share of the zone, above 0 and up to 1.
    pub share: f64,
    /// The severity of all cells in the mean, 0 where a cell is not past the threshold.
    pub severity: f64,
}

/// The part of a zone that is past the threshold of a finding whose mean is not; `None` where no cell is, or the mean is.
pub(super) fn past(case: ZoneContext<'_>, finding: &Finding) -> Option<PartPast> {
    let key = finding.layer.as_ref()?;
    let rule = case.field.rulebook.rule(&finding.rule)?;
    let surface = case.field.surfaces.get(key)?;
    if finding.outcome != Outcome::Adequate || *surface.unit != *rule.unit {
        return None;
    }
    let crop = &case.field.crop.name;
    let threshold = rule.threshold_for(crop);
    let (mut all, mut share, mut severity) = (0.0, 0.0, 0.0);
    for (weight, [value]) in case.cells([key]) {
        all += weight;
        if rule.is_past(value, threshold) {
            share += weight;
            severity += weight * rule.severity(value, crop);
        }
    }
    (share > 0.0).then(|| PartPast {
        share: share / all,
        severity: severity / all,
    })
}

/// The finding on whose account a product goes out for part of a zone, with that part: lime where the mean is not too acid.
pub(super) fn given_for<'a>(
    case: ZoneContext<'a>,
    pending: &[PendingRate],
) -> Option<(&'a Finding, PartPast)> {
    let findings = case.diagnosis.findings.iter();
    let mut acidity = findings.filter(|finding| finding.factor == Factor::Acidity);
    acidity.find_map(|finding| {
        let fixes = case.field.rulebook.fixes.iter();
        let mut answers = fixes.filter(|fix| fix.answers(finding.factor, &finding.rule));
        let is_given = answers.any(|fix| {
            let mut rates = pending.iter();
            fix.product.as_ref().is_some_and(|name| {
                rates.any(|rate| {
                    rate.product == *name && rate.amount > 0.0 && rate.overridden.is_none()
                })
            })
        });
        let part = is_given.then(|| past(case, finding)).flatten()?;
        Some((finding, part))
    })
}

/// "pH (water, 0-6 in) is 6.22, not below the threshold of 6, but 41 % of this ground is".
pub(super) fn words(finding: &Finding, part: PartPast) -> String {
    let percent = (100.0 * part.share).clamp(1.0, 99.0);
    format!(
        "{}, but {} % of this ground is",
        finding.sentence,
        fixed(percent, 0)
    )
}
