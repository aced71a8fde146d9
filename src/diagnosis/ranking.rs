use std::cmp::Ordering;

use super::{Finding, Outcome};

/// Limiting findings first: gates before others, then by falling severity; then adequate, not comparable, not measured. Ties by factor, then by rule.
pub(super) fn order_of_findings(a: &Finding, b: &Finding) -> Ordering {
    let is_open = |finding: &Finding| finding.blocks.is_empty();
    let by_outcome = rank(a.outcome).cmp(&rank(b.outcome));
    let both_limit = a.outcome == Outcome::Limiting && b.outcome == Outcome::Limiting;
    let by_gate = if both_limit {
        is_open(a).cmp(&is_open(b))
    } else {
        Ordering::Equal
    };
    let by_severity = if both_limit {
        b.severity.total_cmp(&a.severity)
    } else {
        Ordering::Equal
    };
    by_outcome
        .then(by_gate)
        .then(by_severity)
        .then_with(|| a.factor.cmp(&b.factor))
        .then_with(|| a.rule.cmp(&b.rule))
        .then_with(|| a.layer.cmp(&b.layer))
}

fn rank(outcome: Outcome) -> u8 {
    match outcome {
        Outcome::Limiting => 0,
        Outcome::Adequate => 1,
        Outcome::NotComparable => 2,
        Outcome::NotMeasured => 3,
    }
}

/// The order of zones: the most severe first limit first, of equals the one that is a gate; then the further limits, then the larger zone, then
/// its place in the clustering.
pub(super) fn order_of_zones(a: (&[Finding], f64, usize), b: (&[Finding], f64, usize)) -> Ordering {
    let key = |findings: &[Finding]| -> Vec<(bool, f64)> {
        let limits = findings
            .iter()
            .filter(|finding| finding.outcome == Outcome::Limiting);
        limits
            .map(|finding| (finding.blocks.is_empty(), finding.severity))
            .collect()
    };
    let (left, right) = (key(a.0), key(b.0));
    for (l, r) in left.iter().zip(&right) {
        let order = r.1.total_cmp(&l.1).then_with(|| l.0.cmp(&r.0));
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
