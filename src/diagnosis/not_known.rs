//! What could not be judged, why, and the test that would tell: zone by zone, and said once for the field.

use super::Finding;
use super::field_rules::FieldRules;
use super::unknown_factor::{Because, NotKnown};
use crate::rulebook::{Factor, Rule, Rulebook, Test};

/// The test of the rulebook that judges a factor.
pub(super) fn test_for(factor: Factor, rulebook: &Rulebook) -> Option<&Test> {
    rulebook
        .tests
        .iter()
        .find(|test| test.factors.contains(&factor))
}

/// Severity that a rule may still find, weighed by the chance of it: of the worst value that is possible, or of any value.
pub(super) fn possible_severity(rule: &Rule, worst: Option<f64>, field: &FieldRules<'_>) -> f64 {
    let numbers = &field.rulebook.numbers;
    let threshold = rule.threshold_for(field.crop);
    let severity = match worst {
        Some(value) if rule.is_past(value, threshold) => rule.severity(value, field.crop),
        Some(_) => 0.0,
        None => rule.most,
    };
    let most = if rule.disputed.is_some() {
        numbers.most_severity_if_disputed
    } else {
        1.0
    };
    severity.min(most) * numbers.unknown_severity
}

/// The factors of a zone that no rule settles, the one that may limit most first.
pub(super) fn of_zone(findings: &[Finding], zone: u32, rulebook: &Rulebook) -> Vec<NotKnown> {
    let mut all: Vec<NotKnown> = Vec::new();
    for factor in Factor::ALL {
        let of_factor = || findings.iter().filter(|finding| finding.factor == factor);
        // A gate that is not known counts, though another rule of the factor may be settled.
        let is_open_gate = |finding: &&Finding| {
            let is_gate = !finding.blocks.is_empty() && finding.not_known.is_some();
            is_gate || finding.not_known == Some(Because::NotDeepEnough)
        };
        if of_factor().any(Finding::is_settled) && !of_factor().any(|f| is_open_gate(&f)) {
            continue;
        }
        let unsettled = of_factor().filter(|finding| finding.not_known.is_some());
        let worst = unsettled.max_by(|a, b| {
            a.possible_severity
                .total_cmp(&b.possible_severity)
                .then_with(|| b.rule.cmp(&a.rule))
        });
        all.extend(worst.and_then(|finding| not_known(finding, zone, rulebook)));
    }
    all.sort_by(worst_first);
    all
}

/// What to do where the states differ.
pub(super) fn way_out(rulebook: &Rulebook) -> &'static str {
    if rulebook.region.is_some() {
        "lay your state's limit by this test over the rulebook, for the region's rules hold none"
    } else {
        "write region = \"...\" in the plan; lowstave rulebook regions lists them"
    }
}

fn not_known(finding: &Finding, zone: u32, rulebook: &Rulebook) -> Option<NotKnown> {
    let because = finding.not_known?;
    if because == Because::DependsOnRegion {
        return Some(NotKnown {
            factor: finding.factor,
            because,
            test: way_out(rulebook).to_owned(),
            dollars_a_sample: None,
            possible_severity: finding.possible_severity,
            sentence: finding.sentence.clone(),
            zones: vec![zone],
        });
    }
    let unnamed = finding
        .layer
        .as_ref()
        .filter(|_| because == Because::MethodNotStated);
    if let Some(layer) = unnamed {
        return Some(NotKnown {
            factor: finding.factor,
            because,
            test: NotKnown::naming_of_methods(&[layer.analyte.label()]),
            dollars_a_sample: None,
            possible_severity: finding.possible_severity,
            sentence: finding.sentence.clone(),
            zones: vec![zone],
        });
    }
    let test = test_for(finding.factor, rulebook);
    let untold = || format!("have {} tested", finding.factor.name());
    Some(NotKnown {
        factor: finding.factor,
        because,
        test: because.test_instead(&test.map_or_else(untold, |test| test.what.clone())),
        dollars_a_sample: test.map(|test| test.dollars_a_sample),
        possible_severity: finding.possible_severity,
        sentence: finding.sentence.clone(),
        zones: vec![zone],
    })
}

/// What is not known in each zone, said once for the field: the same factor for the same reason is one entry with its zones.
pub(super) fn of_field<'a>(zones: impl Iterator<Item = &'a NotKnown>) -> Vec<NotKnown> {
    let mut all: Vec<NotKnown> = Vec::new();
    for found in zones {
        let same =
            |known: &&mut NotKnown| known.factor == found.factor && known.because == found.because;
        match all.iter_mut().find(same) {
            None => all.push(found.clone()),
            Some(known) => {
                known.zones.extend(&found.zones);
                if found.possible_severity > known.possible_severity {
                    known.possible_severity = found.possible_severity;
                    known.sentence.clone_from(&found.sentence);
                }
            }
        }
    }
    all.sort_by(worst_first);
    all
}

fn worst_first(a: &NotKnown, b: &NotKnown) -> std::cmp::Ordering {
    b.possible_severity
        .total_cmp(&a.possible_severity)
        .then_with(|| a.factor.cmp(&b.factor))
        .then_with(|| a.because.cmp(&b.because))
}
