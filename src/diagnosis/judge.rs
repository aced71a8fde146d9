//! One zone's soil compared with the rules. What differs by factor is looked up in `factor`; the rest goes by the rulebook.

use super::evidence::Evidence;
use super::factor;
use super::field_rules::{FieldRules, RuleHere, ZoneSoil};
use super::unknown_factor::Because;
use super::wording::{shown_unit, subject, wanted, with_unit};
use super::{Finding, LayerSummary, Outcome, condition, confidence, not_known, ranking};
use crate::rulebook::{Factor, Rule, Side, Statistic};
use crate::units::{Length, significant, spoken, value_beside};

impl FieldRules<'_> {
    /// All findings of a zone, sorted.
    pub fn findings(&self, soil: &ZoneSoil<'_>) -> Vec<Finding> {
        let mut findings: Vec<Finding> = Factor::ALL
            .iter()
            .flat_map(|factor| self.findings_of(*factor, soil))
            .collect();
        factor::leave_out_covered(&mut findings);
        let most = self.rulebook.numbers.most_severity_if_disputed;
        ranking::hold_disputed(&mut findings, most);
        findings.sort_by(ranking::order_of_findings);
        findings
    }

    fn findings_of(&self, factor: Factor, soil: &ZoneSoil<'_>) -> Vec<Finding> {
        let here: Vec<&RuleHere<'_>> = self.rules_of(factor).collect();
        let rules: Vec<&Rule> = here.iter().map(|here| here.rule).collect();
        let mut held = Vec::new();
        let mut set_aside = Vec::new();
        let mut silent: Vec<&Rule> = Vec::new();
        for here in here {
            let rule = here.rule;
            let evidence = self
                .measured(here, soil)
                .or_else(|| self.inferred(here, soil));
            let unmet = condition::first_unmet(&rule.only_where, soil.profile, self.rulebook);
            match (evidence, unmet) {
                (Some(evidence), None) => held.push(self.finding(rule, evidence)),
                // Nothing says that the ground is of the rule's kind, and another rule speaks of the factor.
                (Some(_), Some(unmet)) if !unmet.is_known && rules.len() > 1 => {}
                (Some(evidence), Some(unmet)) => {
                    set_aside.push(self.not_here(rule, evidence, &unmet.why()));
                }
                // A rule that does not hold on this ground asks for no test.
                (None, Some(unmet)) if unmet.is_known => {}
                (None, _) => silent.push(rule),
            }
        }
        // A rule for other ground says nothing here where the rule for this ground waits for its own test of the same thing.
        let awaited: Vec<&Rule> = silent
            .iter()
            .copied()
            .filter(|rule| rule.asks)
            .filter(|rule| {
                condition::first_unmet(&rule.only_where, soil.profile, self.rulebook).is_none()
            })
            .collect();
        set_aside.retain(|finding| {
            let analyte = finding.layer.as_ref().map(|layer| &layer.analyte);
            awaited.iter().all(|rule| analyte != Some(&rule.analyte))
        });
        held.extend(self.unanswered(&rules, &silent, held.iter().chain(&set_aside), soil));
        if !held.iter().any(Finding::is_settled) {
            held.extend(set_aside);
        }
        let ended_soon = silent
            .iter()
            .filter_map(|rule| self.ended_too_soon(rule, soil));
        held.extend(ended_soon);
        held
    }

    /// A hard layer where there are pushes of the cone and none of them goes deep enough to tell.
    fn ended_too_soon(&self, rule: &Rule, soil: &ZoneSoil<'_>) -> Option<Finding> {
        let deepest = soil.pushes.iter().filter_map(|push| push.last());
        let deepest = deepest.map(|(depth, _)| *depth).reduce(f64::max)?;
        if rule.statistic != Statistic::ShareOfPushes {
            return None;
        }
        let mut finding = self.unsettled(rule, Because::NotDeepEnough, None);
        finding.cores = soil.pushes.len();
        finding.sentence = self.told(|| {
            format!(
                "whether a hard layer stops the roots is not known: no push here goes below {}",
                Length::from_metres(deepest).as_depth(self.units)
            )
        });
        Some(finding)
    }

    /// What is said of a factor whose rules have no value: of its gate where it has one, else of the factor as a whole.
    fn unanswered<'f>(
        &self,
        rules: &[&Rule],
        silent: &[&Rule],
        mut said: impl Iterator<Item = &'f Finding>,
        soil: &ZoneSoil<'_>,
    ) -> Vec<Finding> {
        let has_gate = rules.iter().any(|rule| !rule.blocks.is_empty());
        let is_answered = if has_gate {
            said.any(|finding| !finding.blocks.is_empty())
        } else {
            said.next().is_some()
        };
        let mut askable = silent.iter();
        let first = askable.find(|rule| rule.asks && (!has_gate || !rule.blocks.is_empty()));
        let Some(first) = first.filter(|_| !is_answered) else {
            return Vec::new();
        };
        let group: Vec<&Rule> = silent
            .iter()
            .copied()
            .filter(|other| other.blocks == first.blocks)
            .collect();
        self.unknown(first, &group, soil)
    }

    fn finding(&self, rule: &Rule, evidence: Evidence) -> Finding {
        let threshold = rule.threshold_for(self.crop);
        let is_past = rule.is_past(evidence.value, threshold);
        if rule.is_past(evidence.within.0, threshold) != rule.is_past(evidence.within.1, threshold)
        {
            return self.below_detection(rule, evidence);
        }
        let enough = rule.enough_from(self.crop).filter(|_| !is_past);
        if let Some(enough) = enough.filter(|enough| rule.is_past(evidence.value, *enough)) {
            return self.between_the_states(rule, evidence, enough);
        }
        let outcome = if is_past {
            Outcome::Limiting
        } else {
            Outcome::Adequate
        };
        let mut finding = self.blank(rule, outcome);
        let (factor, _) = shown_unit(&rule.unit, self.units);
        finding.expected_yield = factor::salt::expected_yield(rule, self.crop, &evidence);
        finding.is_closing = self.is_closing(rule, &evidence, is_past);
        finding.sentence = self.told(|| self.sentence(rule, &evidence, &finding));
        if is_past {
            finding.severity = rule.severity(evidence.likely(), self.crop);
        }
        finding.confidence = confidence::probability_past(
            evidence.value,
            threshold,
            evidence.standard_error,
            rule.side,
            evidence.law,
        );
        finding.is_by_own_cores = evidence.is_by_own_cores;
        finding.layer = Some(evidence.layer);
        finding.value = Some(evidence.value * factor);
        finding.spread = evidence.spread.map(|spread| spread * factor);
        finding.cores = evidence.observations;
        finding.cautions = evidence.cautions;
        if is_past {
            finding.loosen_to = evidence.loosen_to;
        }
        if is_past && self.has_words {
            finding.cautions.extend(rule.caution.clone());
        }
        if is_past && self.has_words && evidence.inferred.is_some() {
            let test = not_known::test_for(rule.factor, self.rulebook);
            let asked = test.map(|test| format!("{}: it tells how much", test.what));
            finding.cautions.extend(asked);
        }
        finding.reading = evidence.reading.map(|reading| {
            self.told(|| with_unit(&significant(reading * factor, 3), &finding.unit))
        });
        finding.inferred = evidence.inferred;
        finding
    }

    /// Between the lowest and the highest of the states' limits: the region decides, and nothing goes out on it.
    fn between_the_states(&self, rule: &Rule, evidence: Evidence, enough: f64) -> Finding {
        let way = (evidence.value - enough) / (rule.worst - enough);
        let (factor, unit) = shown_unit(&rule.unit, self.units);
        let show = |value: f64| with_unit(&significant(value * factor, 4), unit);
        let value = || value_beside(evidence.value * factor, enough * factor);
        let why = if self.rulebook.region.is_some() {
            "the region's rules have no limit for this test, so the bracket of the published ones holds"
        } else {
            "no region is named"
        };
        let mut finding = self.unsettled(rule, Because::DependsOnRegion, None);
        finding.possible_severity =
            rule.most * way.clamp(0.0, 1.0) * self.rulebook.numbers.unknown_severity;
        finding.sentence = self.told(|| {
            format!(
                "{} {}, between the lowest and the highest of the published limits for {}, {} and {}: {why}; {}",
                evidence.subject,
                with_unit(&value(), unit),
                self.crop_label,
                show(rule.threshold_for(self.crop)),
                show(enough),
                not_known::way_out(self.rulebook)
            )
        });
        finding.layer = Some(evidence.layer);
        finding.value = Some(evidence.value * factor);
        finding.spread = evidence.spread.map(|spread| spread * factor);
        finding.cores = evidence.observations;
        finding.cautions = evidence.cautions;
        finding
    }

    /// Results below a limit of detection that lies past the threshold: nobody knows on which side of it they lie.
    fn below_detection(&self, rule: &Rule, evidence: Evidence) -> Finding {
        let (least, most) = evidence.within;
        let worst = match rule.side {
            Side::Below => least,
            Side::Above => most,
        };
        let (factor, unit) = shown_unit(&rule.unit, self.units);
        let show = |value: f64| significant(value * factor, 3);
        let mut finding = self.unsettled(rule, Because::BelowDetection, Some(worst));
        finding.sentence = self.told(|| {
            format!(
                "{} between {} and {}, because results lie below the limit of detection, and the threshold is {}: the test does not \
                 read low enough to tell",
                evidence.subject,
                show(least),
                with_unit(&show(most), unit),
                with_unit(&significant(rule.threshold_for(self.crop) * factor, 4), unit)
            )
        });
        finding.layer = Some(evidence.layer);
        finding.cores = evidence.observations;
        finding.cautions = evidence.cautions;
        finding
    }

    /// Whether what a rule closes is closed. Where the trouble is there and only its bounds are known, the worse bound closes.
    fn is_closing(&self, rule: &Rule, evidence: &Evidence, is_past: bool) -> bool {
        let worse = match rule.side {
            Side::Above => evidence.range.1,
            Side::Below => evidence.range.0,
        };
        let value = if is_past && evidence.inferred.is_some() {
            worse
        } else {
            evidence.value
        };
        !rule.blocks.is_empty() && rule.is_past(value, rule.closes_from(self.crop))
    }

    /// The finding in words, with value and threshold in the units that people of the field read.
    fn sentence(&self, rule: &Rule, evidence: &Evidence, finding: &Finding) -> String {
        let threshold = rule.threshold_for(self.crop);
        let (factor, unit) = shown_unit(&rule.unit, self.units);
        let shown = |value: f64| spoken(value * factor, unit);
        let number = value_beside(shown(evidence.value), shown(threshold));
        let value = with_unit(&number, unit);
        let threshold = with_unit(&significant(shown(threshold), 4), unit);
        let (subject, side) = (&evidence.subject, rule.side.name());
        if finding.outcome == Outcome::Limiting {
            let left = finding.expected_yield.as_ref();
            let means = left.map_or_else(|| rule.means.clone(), |left| left.words(self.crop_label));
            return format!("{subject} {value}, {side} the threshold of {threshold}: {means}");
        }
        let sentence = format!("{subject} {value}, not {side} the threshold of {threshold}");
        if finding.is_closing {
            let from = with_unit(&significant(rule.closes_from(self.crop), 4), unit);
            return format!(
                "{sentence}, but {side} {from}, where seedlings suffer: nothing that carries salt goes out"
            );
        }
        sentence
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
            unit: self.told(|| unit.to_owned()),
            side: rule.side,
            severity: 0.0,
            confidence: 0.0,
            basis: rule.basis,
            source: self.told(|| {
                let of_crop = rule.of_crop(self.crop);
                of_crop.map_or_else(|| rule.source.clone(), |limit| limit.source.clone())
            }),
            disputed: rule.disputed.clone(),
            blocks: rule.blocks.clone(),
            is_closing: false,
            expected_yield: None,
            cautions: Vec::new(),
            inferred: None,
            is_by_own_cores: false,
            reading: None,
            loosen_to: None,
            not_known: None,
            possible_severity: 0.0,
            sentence: String::new(),
        }
    }

    /// A finding of an unknown factor.
    fn unsettled(&self, rule: &Rule, because: Because, worst: Option<f64>) -> Finding {
        let outcome = if because == Because::NotTested {
            Outcome::NotMeasured
        } else {
            Outcome::NotComparable
        };
        let mut finding = self.blank(rule, outcome);
        finding.not_known = Some(because);
        finding.possible_severity = not_known::possible_severity(rule, worst, self);
        finding
    }

    /// A rule that does not hold in this zone.
    fn not_here(&self, rule: &Rule, evidence: Evidence, why: &str) -> Finding {
        let (factor, unit) = shown_unit(&rule.unit, self.units);
        let mut finding = self.unsettled(rule, Because::RuleDoesNotHold, None);
        finding.sentence = self.told(|| {
            let value = with_unit(&significant(evidence.value * factor, 3), unit);
            format!(
                "{} {value}, but it is not judged here: {why}",
                evidence.subject
            )
        });
        finding.layer = Some(evidence.layer);
        finding.value = Some(evidence.value * factor);
        finding.cores = evidence.observations;
        finding
    }

    /// What is said where none of a group of rules has a value: other methods and depths by name, or nothing measured.
    fn unknown(&self, first: &Rule, group: &[&Rule], soil: &ZoneSoil<'_>) -> Vec<Finding> {
        let mut findings: Vec<Finding> = soil
            .profile
            .iter()
            .filter(|summary| summary.mean.is_finite())
            .filter_map(|summary| {
                let mut rules = group.iter();
                let rule = rules.find(|rule| rule.analyte == summary.key.analyte)?;
                Some(self.not_comparable(rule, group, summary))
            })
            .collect();
        if findings.is_empty() {
            let mut finding = self.unsettled(first, Because::NotTested, None);
            finding.sentence = self.told(|| {
                format!(
                    "{} was not measured by a test that a rule takes ({})",
                    first.factor.name(),
                    wanted(group, self.units)
                )
            });
            findings.push(finding);
        }
        if self.has_words {
            let cautions = (factor::hooks(first.factor).where_unknown)(soil.profile);
            for finding in &mut findings {
                finding.cautions.extend(cautions.iter().cloned());
            }
        }
        findings
    }

    fn not_comparable(&self, rule: &Rule, group: &[&Rule], summary: &LayerSummary) -> Finding {
        let (because, reason) = self.why_not_comparable(rule, summary);
        let worst = self.worst_possible(rule, summary);
        let is_closing = self.closes_for_sure(rule, summary);
        let mut finding = self.unsettled(rule, because, worst);
        let (factor, unit) = shown_unit(&summary.unit, self.units);
        finding.sentence = self.told(|| {
            let value = with_unit(&significant(summary.mean * factor, 3), unit);
            format!(
                "{} is {value}, but it is not comparable: {reason}; the rule wants {}",
                subject(&summary.key, self.units),
                wanted(group, self.units)
            )
        });
        if is_closing && self.has_words {
            let from = with_unit(&significant(rule.closes_from(self.crop), 4), &rule.unit);
            let side = rule.side.name();
            finding.sentence += &format!(
                "; it lies {side} {from} for certain, so nothing that carries salt goes out"
            );
        }
        finding.is_closing = is_closing;
        finding.layer = Some(summary.key.clone());
        finding.value = Some(summary.mean * factor);
        finding.cores = summary.cores;
        finding.unit = self.told(|| unit.to_owned());
        finding
    }

    fn why_not_comparable(&self, rule: &Rule, summary: &LayerSummary) -> (Because, String) {
        match (&summary.key.method, summary.key.depth) {
            (None, _) if !rule.methods.is_empty() => (
                Because::MethodNotStated,
                "its test method is not stated".to_owned(),
            ),
            (Some(method), _) if !rule.takes_method(Some(method)) => (
                Because::OtherMethod,
                format!("no rule takes the method {method}"),
            ),
            (_, None) => (
                Because::OtherDepth,
                "its sampling depth is not stated".to_owned(),
            ),
            (_, Some(depth)) if rule.depth_rank(Some(depth)).is_none() => (
                Because::OtherDepth,
                format!("no rule takes the depth {}", depth.show(self.units)),
            ),
            _ => (
                Because::OtherUnit,
                format!("its unit {} is not the rule's", summary.unit),
            ),
        }
    }
}
