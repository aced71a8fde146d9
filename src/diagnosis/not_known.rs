//! What could not be judged, why, and the test that would tell: zone by zone, and said once for the field.

use serde::Serialize;

use super::Finding;
use super::field_rules::FieldRules;
use crate::rulebook::{Factor, Rule, Rulebook, Test};

/// Why a factor is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Because {
    /// Nothing was measured.
    NotTested,
    /// Measured by a method that no rule takes, or that is not stated.
    OtherMethod,
    /// Measured at a depth that no rule takes, or that is not stated.
    OtherDepth,
    /// Measured in a unit that is not the rule's.
    OtherUnit,
    /// Measured, and between the lowest and the highest limit of the states.
    DependsOnRegion,
    /// Measured, but the rule does not hold on this ground.
    RuleDoesNotHold,
}

impl Because {
    /// In words, to complete "not known: ...".
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::NotTested => "not tested",
            Self::OtherMethod => "tested by another method",
            Self::OtherDepth => "tested at another depth",
            Self::OtherUnit => "given in another unit",
            Self::DependsOnRegion => "the states draw the line at different values",
            Self::RuleDoesNotHold => "no rule holds on this ground",
        }
    }
}

/// A factor that could not be judged.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NotKnown {
    /// The factor.
    pub factor: Factor,
    /// Why it is not known.
    pub because: Because,
    /// The test that would tell, in the imperative: "have the EC of a saturated paste run, 0-6 in".
    pub test: String,
    /// What one sample of that test usually costs, United States dollars; `None` where the rulebook names no test.
    pub dollars_a_sample: Option<f64>,
    /// Severity that is still possible, weighed by the chance of it, 0 to 1.
    pub possible_severity: f64,
    /// The finding behind it, one sentence.
    pub sentence: String,
    /// Numbers of the zones in which it is not known, rising.
    pub zones: Vec<u32>,
}

impl NotKnown {
    /// For a list: "salt: not tested; have the EC of a saturated paste run, 0-6 in (about 15 USD a sample)".
    #[must_use]
    pub fn line(&self) -> String {
        let cost = self
            .dollars_a_sample
            .map(|cost| format!(" (about {} USD a sample)", crate::units::decimal(cost, 2)))
            .unwrap_or_default();
        let (factor, because) = (self.factor.name(), self.because.words());
        format!("{factor}: {because}; {}{cost}", self.test)
    }
}

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
        let is_open_gate =
            |finding: &&Finding| !finding.blocks.is_empty() && finding.not_known.is_some();
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
    let test = test_for(finding.factor, rulebook);
    let untold = || format!("have {} tested", finding.factor.name());
    Some(NotKnown {
        factor: finding.factor,
        because,
        test: test.map_or_else(untold, |test| test.what.clone()),
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
