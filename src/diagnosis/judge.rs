//! One zone's profile held against the rules.

use super::factor::air::{self, Push, Pushes};
use super::factor::carbon;
use super::wording::{factor_between, shown_unit, value_beside, with_unit};
use super::{Finding, LayerSummary, Outcome, confidence, evidence};
use crate::analyte::{Analyte, LayerKey};
use crate::rulebook::{Condition, Factor, Rule, Rulebook, Statistic};
use crate::soil::{HardLayer, LayerBottom, LayerTop};
use crate::units::{Length, UnitSystem, decimal, significant};

/// What all zones are judged by.
pub(super) struct Bench<'a> {
    pub rulebook: &'a Rulebook,
    pub crop: &'a str,
    pub units: UnitSystem,
    pub pushes: &'a Pushes,
}

/// One zone.
pub(super) struct Case<'a> {
    pub profile: &'a [LayerSummary],
    pub pushes: &'a [Push],
}

/// A number of a zone that a rule can be held against, in the rule's unit.
struct Evidence {
    layer: LayerKey,
    value: f64,
    spread: Option<f64>,
    standard_error: f64,
    observations: usize,
    /// The subject of the sentence: "pH (water), 0-6 in, is".
    subject: String,
    cautions: Vec<String>,
}

impl Bench<'_> {
    /// All findings of a zone, sorted.
    pub fn findings(&self, case: &Case<'_>) -> Vec<Finding> {
        let mut findings: Vec<Finding> = Factor::ALL
            .iter()
            .flat_map(|factor| self.findings_of(*factor, case))
            .collect();
        findings.sort_by(super::ranking::order_of_findings);
        findings
    }

    fn findings_of(&self, factor: Factor, case: &Case<'_>) -> Vec<Finding> {
        let rules: Vec<&Rule> = self
            .rulebook
            .rules
            .iter()
            .filter(|rule| rule.factor == factor)
            .collect();
        let mut held = Vec::new();
        let mut set_aside = Vec::new();
        let mut silent: Vec<&Rule> = Vec::new();
        for rule in &rules {
            let evidence = self.evidence(rule, case);
            match (evidence, unmet_condition(rule, case)) {
                (Some(evidence), None) => held.push(self.finding(rule, evidence)),
                (Some(evidence), Some(condition)) => {
                    set_aside.push(self.not_here(rule, evidence, condition))
                }
                (None, _) => silent.push(rule),
            }
        }
        let has_gate = rules.iter().any(|rule| !rule.blocks.is_empty());
        let is_gate_held = held
            .iter()
            .chain(&set_aside)
            .any(|finding| !finding.blocks.is_empty());
        let is_open = if has_gate {
            !is_gate_held
        } else {
            held.is_empty() && set_aside.is_empty()
        };
        if is_open
            && let Some(rule) = silent
                .iter()
                .find(|rule| !has_gate || !rule.blocks.is_empty())
        {
            let group: Vec<&Rule> = silent
                .iter()
                .copied()
                .filter(|other| other.blocks == rule.blocks)
                .collect();
            held.extend(self.unknown(rule, &group, case));
        }
        if !held
            .iter()
            .any(|finding| matches!(finding.outcome, Outcome::Limiting | Outcome::Adequate))
        {
            held.extend(set_aside);
        }
        held
    }

    fn evidence(&self, rule: &Rule, case: &Case<'_>) -> Option<Evidence> {
        match rule.statistic {
            Statistic::Mean => self.mean(rule, case),
            Statistic::TightestMark => self.tightest_mark(rule, case),
            Statistic::ShareOfPushes => self.share_of_pushes(rule, case),
        }
    }

    /// The layer that a rule takes, the rule's preferred depth first.
    fn mean(&self, rule: &Rule, case: &Case<'_>) -> Option<Evidence> {
        let taken = case
            .profile
            .iter()
            .filter(|summary| rule.takes(&summary.key) && summary.mean.is_finite());
        let summary = taken.min_by_key(|summary| rule.depth_rank(summary.key.depth))?;
        let mut evidence = self.of_layer(rule, summary)?;
        if let Some(ratio) = carbon::ratio_of_means(&summary.key, case.profile) {
            evidence.value = ratio;
        }
        Some(evidence)
    }

    fn tightest_mark(&self, rule: &Rule, case: &Case<'_>) -> Option<Evidence> {
        let is_mark = |summary: &&LayerSummary| {
            summary.key.analyte == rule.analyte
                && rule.takes_method(summary.key.method.as_ref())
                && summary.mean.is_finite()
                && summary
                    .key
                    .depth
                    .is_some_and(|depth| air::is_inside(rule, depth.bottom().metres()))
        };
        let marks = case.profile.iter().filter(is_mark);
        let summary =
            marks.max_by(|a, b| a.mean.total_cmp(&b.mean).then_with(|| b.key.cmp(&a.key)))?;
        let mut evidence = self.of_layer(rule, summary)?;
        evidence.cautions.extend(self.pushes.moisture_caution());
        Some(evidence)
    }

    fn of_layer(&self, rule: &Rule, summary: &LayerSummary) -> Option<Evidence> {
        let factor = factor_between(&summary.unit, &rule.unit)?;
        Some(Evidence {
            layer: summary.key.clone(),
            value: summary.mean * factor,
            spread: Some(summary.spread * factor),
            standard_error: summary.standard_error * factor,
            observations: summary.cores,
            subject: format!("{} is", subject(&summary.key, self.units)),
            cautions: evidence::cautions(summary, self.rulebook),
        })
    }

    fn share_of_pushes(&self, rule: &Rule, case: &Case<'_>) -> Option<Evidence> {
        let (hard, pushes) = air::hard_pushes(rule, case.pushes);
        if pushes == 0 {
            return None;
        }
        let (_, standard_error) = confidence::share_with_standard_error(hard, pushes);
        let limit = rule.limit.unwrap_or_default().show(self.units, 0);
        let place = self.placed(&air::hard_layers_of(rule, case.pushes));
        let depth = rule.depths.first().copied();
        let within = depth
            .map(|depth| format!(" within {}", depth.show(self.units)))
            .unwrap_or_default();
        let mut cautions: Vec<String> = evidence::few_observations(pushes, self.rulebook)
            .into_iter()
            .collect();
        cautions.extend(self.pushes.moisture_caution());
        Some(Evidence {
            layer: LayerKey::new(Analyte::ConeIndex, rule.methods.first().cloned(), depth),
            value: 100.0 * hard as f64 / pushes as f64,
            spread: None,
            standard_error,
            observations: pushes,
            subject: format!(
                "in {hard} of {pushes} pushes the cone index rises above {limit}{within}{place}:"
            ),
            cautions,
        })
    }

    /// Where hard layers lie, in words.
    fn placed(&self, layers: &[HardLayer]) -> String {
        let place = |layer: &HardLayer| {
            let top = match layer.top {
                LayerTop::At(depth) => format!("from {}", self.depth(depth)),
                LayerTop::AtOrAbove(_) => "from the surface".to_owned(),
            };
            match layer.bottom {
                LayerBottom::At(depth) => format!("{top} to {}", self.depth(depth)),
                LayerBottom::NotReached(depth) => format!(
                    "{top} to beyond {}, where the record ends",
                    self.depth(depth)
                ),
            }
        };
        match layers {
            [] => String::new(),
            layers => format!(
                ", on average {}",
                layers.iter().map(place).collect::<Vec<_>>().join(" and ")
            ),
        }
    }

    fn depth(&self, depth: Length) -> String {
        match self.units {
            UnitSystem::UnitedStates => format!("{} in", decimal(depth.metres() / 0.0254, 1)),
            UnitSystem::Metric => format!("{} cm", decimal(depth.metres() * 100.0, 0)),
        }
    }

    fn finding(&self, rule: &Rule, evidence: Evidence) -> Finding {
        let threshold = rule.threshold_for(self.crop);
        let is_past = rule.is_past(evidence.value, threshold);
        let outcome = if is_past {
            Outcome::Limiting
        } else {
            Outcome::Adequate
        };
        let mut finding = self.blank(rule, outcome);
        let (factor, unit) = shown_unit(&rule.unit, self.units);
        let number = value_beside(evidence.value * factor, threshold * factor);
        let (value_text, threshold_text) = (
            with_unit(&number, &unit),
            with_unit(&significant(threshold * factor, 4), &unit),
        );
        finding.sentence = match outcome {
            Outcome::Limiting => {
                format!(
                    "{} {value_text}, {} the threshold of {threshold_text}: {}",
                    evidence.subject,
                    rule.side.name(),
                    rule.means
                )
            }
            _ => format!(
                "{} {value_text}, not {} the threshold of {threshold_text}",
                evidence.subject,
                rule.side.name()
            ),
        };
        finding.severity = if is_past {
            rule.severity(evidence.value, threshold)
        } else {
            0.0
        };
        finding.confidence = confidence::probability_past(
            evidence.value,
            threshold,
            evidence.standard_error,
            rule.side,
        );
        finding.layer = Some(evidence.layer);
        finding.value = Some(evidence.value * factor);
        finding.spread = evidence.spread.map(|spread| spread * factor);
        finding.cores = evidence.observations;
        finding.cautions = evidence.cautions;
        finding
            .cautions
            .extend(rule.caution.iter().filter(|_| is_past).cloned());
        finding
    }

    /// A finding without a value.
    fn blank(&self, rule: &Rule, outcome: Outcome) -> Finding {
        let (factor, unit) = shown_unit(&rule.unit, self.units);
        Finding {
            rule: rule.name.clone(),
            factor: rule.factor,
            outcome,
            layer: None,
            value: None,
            spread: None,
            cores: 0,
            threshold: rule.threshold_for(self.crop) * factor,
            unit,
            side: rule.side,
            severity: 0.0,
            confidence: 0.0,
            basis: rule.basis,
            source: rule.source.clone(),
            disputed: rule.disputed.clone(),
            blocks: rule.blocks.clone(),
            cautions: Vec::new(),
            sentence: String::new(),
        }
    }

    /// A rule that does not hold in this zone.
    fn not_here(&self, rule: &Rule, evidence: Evidence, condition: &Condition) -> Finding {
        let (factor, unit) = shown_unit(&rule.unit, self.units);
        let value = with_unit(&significant(evidence.value * factor, 3), &unit);
        let mut finding = self.blank(rule, Outcome::NotComparable);
        finding.sentence = format!(
            "{} {value}, but it is not judged here: {}",
            evidence.subject, condition.why
        );
        finding.layer = Some(evidence.layer);
        finding.value = Some(evidence.value * factor);
        finding.cores = evidence.observations;
        finding
    }

    /// What is said where none of a group of rules has a value: other methods and depths by name, or nothing measured.
    fn unknown(&self, first: &Rule, group: &[&Rule], case: &Case<'_>) -> Vec<Finding> {
        let is_related = |summary: &&LayerSummary| {
            summary.mean.is_finite() && group.iter().any(|rule| rule.analyte == summary.key.analyte)
        };
        let mut findings: Vec<Finding> = case
            .profile
            .iter()
            .filter(is_related)
            .filter_map(|summary| {
                let rule = group
                    .iter()
                    .find(|rule| rule.analyte == summary.key.analyte)?;
                Some(self.not_comparable(rule, group, summary))
            })
            .collect();
        if findings.is_empty() {
            let mut finding = self.blank(first, Outcome::NotMeasured);
            finding.sentence = format!(
                "{} was not measured by a test that a rule takes ({})",
                first.factor.name(),
                wanted(group, self.units)
            );
            findings.push(finding);
        }
        if first.factor == Factor::Carbon {
            let cautions = carbon::not_measured(case.profile);
            for finding in &mut findings {
                finding.cautions.extend(cautions.iter().cloned());
            }
        }
        findings
    }

    fn not_comparable(&self, rule: &Rule, group: &[&Rule], summary: &LayerSummary) -> Finding {
        let mut finding = self.blank(rule, Outcome::NotComparable);
        let (factor, unit) = shown_unit(&summary.unit, self.units);
        let value = with_unit(&significant(summary.mean * factor, 3), &unit);
        let reason = match (&summary.key.method, summary.key.depth) {
            (None, _) if !rule.methods.is_empty() => "its test method is not stated".to_owned(),
            (Some(method), _) if !rule.takes_method(Some(method)) => {
                format!("no rule takes the method {method}")
            }
            (_, None) => "its sampling depth is not stated".to_owned(),
            (_, Some(depth)) if rule.depth_rank(Some(depth)).is_none() => {
                format!("no rule takes the depth {}", depth.show(self.units))
            }
            _ => format!("its unit {} is not the rule's", summary.unit),
        };
        finding.sentence = format!(
            "{} is {value}, but it is not comparable: {reason}; the rule wants {}",
            subject(&summary.key, self.units),
            wanted(group, self.units)
        );
        finding.layer = Some(summary.key.clone());
        finding.value = Some(summary.mean * factor);
        finding.cores = summary.cores;
        finding.unit = unit;
        finding
    }
}

/// A layer as the subject of a sentence: "pH (water, 0-6 in)".
fn subject(key: &LayerKey, units: UnitSystem) -> String {
    let method = key.method.as_ref().map(|method| method.name().to_owned());
    let details: Vec<String> = method
        .into_iter()
        .chain(key.depth.map(|depth| depth.show(units)))
        .collect();
    if details.is_empty() {
        key.analyte.label()
    } else {
        format!("{} ({})", key.analyte.label(), details.join(", "))
    }
}

/// The tests that a group of rules takes, in words.
fn wanted(group: &[&Rule], units: UnitSystem) -> String {
    let mut tests: Vec<String> = group
        .iter()
        .map(|rule| {
            let methods: Vec<&str> = rule
                .methods
                .iter()
                .map(crate::analyte::Method::name)
                .collect();
            let by = if methods.is_empty() {
                String::new()
            } else {
                format!(" by {}", methods.join(" or "))
            };
            let depths: Vec<String> = rule.depths.iter().map(|depth| depth.show(units)).collect();
            format!("{}{by}, {}", rule.analyte.label(), depths.join(" or "))
        })
        .collect();
    tests.dedup();
    tests.join("; ")
}

/// The first condition of a rule that a zone does not meet.
fn unmet_condition<'r>(rule: &'r Rule, case: &Case<'_>) -> Option<&'r Condition> {
    rule.only_where
        .iter()
        .find(|condition| !meets(condition, case.profile))
}

/// Whether a zone meets a condition. Of several layers that could tell, the one that reaches deepest within the plough layer does.
fn meets(condition: &Condition, profile: &[LayerSummary]) -> bool {
    let deepest = Length::from_metres(0.22);
    let can_tell = |summary: &&LayerSummary| {
        summary.key.analyte == condition.analyte
            && (condition.methods.is_empty()
                || summary
                    .key
                    .method
                    .as_ref()
                    .is_some_and(|method| condition.methods.contains(method)))
            && summary.mean.is_finite()
            && factor_between(&summary.unit, &condition.unit).is_some()
    };
    let rank = |summary: &&LayerSummary| {
        let depth = summary.key.depth;
        (
            depth.is_some_and(|depth| depth.bottom() <= deepest),
            depth.map(|depth| depth.bottom().metres().to_bits()),
        )
    };
    match profile.iter().filter(can_tell).max_by_key(rank) {
        None => condition.if_unknown,
        Some(summary) => condition.is_met_by(
            summary.mean * factor_between(&summary.unit, &condition.unit).unwrap_or(1.0),
        ),
    }
}

/// Whether a finding closes its products because the trouble lies past the threshold.
impl Finding {
    /// Whether this finding holds a product or a class of products back.
    #[must_use]
    pub fn closes_product(&self, name: &str) -> bool {
        self.outcome == Outcome::Limiting && self.blocks.iter().any(|closed| closed == name)
    }
}
