use std::cmp::Ordering;

use super::{Finding, Outcome};
use crate::rulebook::Basis;
use crate::units::decimal;

/// Limiting findings first, by falling severity; then adequate, not comparable, not measured. Ties by factor, then by rule.
pub(super) fn order_of_findings(a: &Finding, b: &Finding) -> Ordering {
    rank(a.outcome)
        .cmp(&rank(b.outcome))
        .then_with(|| b.severity.total_cmp(&a.severity))
        .then_with(|| a.factor.cmp(&b.factor))
        .then_with(|| a.rule.cmp(&b.rule))
        .then_with(|| a.layer.cmp(&b.layer))
}

/// A disputed severity beside a published one, as a share of it.
const BESIDE_PUBLISHED: f64 = 0.9;

/// Holds the severity of disputed rules down: to `most`, and under every published limit of the zone, so that a disputed rule never outranks
/// a published one.
pub(super) fn hold_disputed(findings: &mut [Finding], most: f64) {
    let is_published = |finding: &&Finding| {
        finding.outcome == Outcome::Limiting
            && finding.basis == Basis::Published
            && finding.disputed.is_none()
            && finding.severity > 0.0
    };
    let least_published = findings
        .iter()
        .filter(is_published)
        .map(|finding| finding.severity)
        .fold(f64::INFINITY, f64::min);
    let held = most.min(BESIDE_PUBLISHED * least_published);
    for finding in findings
        .iter_mut()
        .filter(|finding| finding.disputed.is_some() && finding.severity > held)
    {
        finding.cautions.push(format!(
            "severity {} is held down to {}, because research disputes this rule",
            decimal(finding.severity, 2),
            decimal(held, 2)
        ));
        finding.severity = held;
    }
}

fn rank(outcome: Outcome) -> u8 {
    match outcome {
        Outcome::Limiting => 0,
        Outcome::Adequate => 1,
        Outcome::NotComparable => 2,
        Outcome::NotMeasured => 3,
    }
}

/// The order of zones: the most severe first limit first, then the further limits, then the larger zone, then its place in the clustering.
pub(super) fn order_of_zones(a: (&[Finding], f64, usize), b: (&[Finding], f64, usize)) -> Ordering {
    let key = |findings: &[Finding]| -> Vec<f64> {
        let limits = findings
            .iter()
            .filter(|finding| finding.outcome == Outcome::Limiting);
        limits.map(|finding| finding.severity).collect()
    };
    let (left, right) = (key(a.0), key(b.0));
    for (l, r) in left.iter().zip(&right) {
        let order = r.total_cmp(l);
        if order != Ordering::Equal {
            return order;
        }
    }
    right
        .len()
        .cmp(&left.len())
        .then_with(|| b.1.total_cmp(&a.1))
        .then_with(|| a.2.cmp(&b.2))
}
