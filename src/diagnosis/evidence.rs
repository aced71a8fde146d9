//! The number of a zone that a rule is compared with: measured, or bounded by what another method read.

use super::confidence::{self, Law};
use super::factor::air::HardLayers;
use super::factor::{self, air};
use super::field_rules::{FieldRules, RuleHere, ZoneSoil};
use super::wording::{factor_between, subject};
use crate::analyte::{Analyte, LayerKey};
use crate::diagnosis::LayerSummary;
use crate::rulebook::{Rule, Rulebook, Side, Statistic};
use crate::soil::manganese_availability_index;
use crate::units::Length;

/// Said of a layer that has no map.
pub(super) const FLAT: &str = "no map is drawn of this layer: every zone has the field's mean";

/// A number of a zone that a rule can be compared with, in the rule's unit.
pub(super) struct Evidence {
    pub layer: LayerKey,
    pub value: f64,
    pub spread: Option<f64>,
    pub standard_error: f64,
    /// How the value errs.
    pub law: Law,
    pub observations: usize,
    /// The subject of the sentence: "pH (water), 0-6 in, is".
    pub subject: String,
    pub cautions: Vec<String>,
    /// Least and most that the value can be: 90 % interval of a mean, bounds of a reading by another method.
    pub range: (f64, f64),
    /// Why the value is a bound and not a measurement.
    pub inferred: Option<String>,
    /// What the other method read, where the value is a bound.
    pub reading: Option<f64>,
    /// Least and most that the mean can be, where results lie below a limit of detection that is past the threshold.
    pub within: (f64, f64),
    /// How deep to loosen, for a hard layer whose lower edge was reached.
    pub loosen_to: Option<Length>,
    /// Whether the zone's own cores stand for the field's one value.
    pub is_by_own_cores: bool,
}

impl Evidence {
    /// The value to tell how severe a limit is: of a bound, which is the mildest that the reading allows, the middle of what it allows.
    pub fn likely(&self) -> f64 {
        let middle = f64::midpoint(self.range.0, self.range.1);
        if self.inferred.is_some() && middle.is_finite() {
            middle
        } else {
            self.value
        }
    }
}

/// Whether a value without a map stands for a zone whose own cores lack it, though they were tested for other things: what was left out
/// of them (a sum that cannot be, a result that was not read) may be what is wrong there.
fn is_borrowed(summary: &LayerSummary, profile: &[LayerSummary]) -> bool {
    let is_tested =
        |other: &LayerSummary| other.cores > 0 && other.key.analyte != Analyte::ConeIndex;
    summary.is_flat && summary.cores == 0 && profile.iter().any(is_tested)
}

impl FieldRules<'_> {
    /// What was measured by a method and at a depth that a rule takes.
    pub fn measured(&self, here: &RuleHere<'_>, soil: &ZoneSoil<'_>) -> Option<Evidence> {
        let rule = here.rule;
        match rule.statistic {
            Statistic::Mean => self.mean(here, soil),
            Statistic::TightestMark => self.tightest_mark(rule, soil),
            Statistic::ShareOfPushes => self.share_of_pushes(rule, soil),
            Statistic::ManganeseAvailability => self.manganese_availability(rule, soil),
        }
    }

    /// The layer that a rule takes, the rule's preferred depth first.
    fn mean(&self, here: &RuleHere<'_>, soil: &ZoneSoil<'_>) -> Option<Evidence> {
        let rule = here.rule;
        let mut taken = here.taken.iter().map(|at| &soil.profile[*at]);
        let summary = taken
            .find(|summary| summary.mean.is_finite() && !is_borrowed(summary, soil.profile))?;
        let mut evidence = self.of_layer(rule, summary)?;
        if let Some(value) = (factor::hooks(rule.factor).value)(&summary.key, soil.profile) {
            evidence.value = value;
            return Some(evidence);
        }
        Some(self.by_own_cores(rule, summary, evidence, soil))
    }

    fn tightest_mark(&self, rule: &Rule, soil: &ZoneSoil<'_>) -> Option<Evidence> {
        let is_mark = |summary: &&LayerSummary| {
            summary.key.analyte == rule.analyte
                && rule.takes_method(summary.key.method.as_ref())
                && summary.mean.is_finite()
                && summary
                    .key
                    .depth
                    .is_some_and(|depth| air::is_inside(rule, depth.bottom().metres()))
        };
        let marks = soil.profile.iter().filter(is_mark);
        let summary =
            marks.max_by(|a, b| a.mean.total_cmp(&b.mean).then_with(|| b.key.cmp(&a.key)))?;
        let mut evidence = self.of_layer(rule, summary)?;
        evidence.cautions.extend(self.pushes.moisture_caution());
        Some(evidence)
    }

    fn of_layer(&self, rule: &Rule, summary: &LayerSummary) -> Option<Evidence> {
        let factor = factor_between(&summary.unit, &rule.unit)?;
        let value = summary.mean * factor;
        let standard_error = summary.standard_error * factor;
        let law = Law::of(summary.is_skewed);
        let threshold = rule.threshold_for(self.crop) / factor;
        let within = summary.below.mean_within(summary.mean, threshold);
        Some(Evidence {
            layer: summary.key.clone(),
            value,
            within: (within.0 * factor, within.1 * factor),
            law,
            range: confidence::interval_90(value, standard_error, law),
            spread: Some(summary.spread * factor),
            standard_error,
            observations: summary.cores,
            subject: self.told(|| format!("{} is", subject(&summary.key, self.units))),
            cautions: if self.has_words {
                let of_depth = self.depth_caution(rule, summary).into_iter();
                of_depth.chain(cautions(summary, self.rulebook)).collect()
            } else {
                Vec::new()
            },
            inferred: None,
            reading: None,
            loosen_to: None,
            is_by_own_cores: false,
        })
    }

    /// Where another depth was sampled than the rule is for.
    fn depth_caution(&self, rule: &Rule, summary: &LayerSummary) -> Option<String> {
        let sampled = summary.key.depth?;
        let wanted = rule.stands_for(sampled)?;
        Some(format!(
            "sampled {}; the limit is for {}, which is near enough to be used",
            sampled.show(self.units),
            wanted.show(self.units)
        ))
    }

    /// The availability index of manganese, where its depth has a pH in water too.
    fn manganese_availability(&self, rule: &Rule, soil: &ZoneSoil<'_>) -> Option<Evidence> {
        let takes = |summary: &&LayerSummary| {
            rule.takes(&summary.key) && factor_between(&summary.unit, "ppm") == Some(1.0)
        };
        let taken = soil.profile.iter().filter(takes);
        let manganese = taken.min_by_key(|summary| rule.depth_rank(summary.key.depth))?;
        let is_in_water = |summary: &&LayerSummary| {
            let method = summary.key.method.as_ref();
            summary.key.analyte == Analyte::Ph
                && summary.key.depth == manganese.key.depth
                && method.is_some_and(|method| method.name() == "water")
        };
        let ph = soil.profile.iter().find(is_in_water)?;
        let index = |manganese, ph| manganese_availability_index(manganese, ph).ok();
        let value = index(manganese.mean, ph.mean)?;
        let moved = |other: Option<f64>| other.map_or(0.0, |other| (other - value).abs());
        let standard_error = moved(index(manganese.mean + manganese.standard_error, ph.mean))
            .hypot(moved(index(manganese.mean, ph.mean - ph.standard_error)));
        let shown = |value| crate::units::significant(value, 3);
        Some(Evidence {
            layer: manganese.key.clone(),
            value,
            within: (value, value),
            law: Law::Normal,
            range: confidence::interval_90(value, standard_error, Law::Normal),
            spread: None,
            standard_error,
            observations: manganese.cores.min(ph.cores),
            subject: self.told(|| {
                format!(
                    "{} is {} ppm at pH {}: its availability index is",
                    subject(&manganese.key, self.units),
                    shown(manganese.mean),
                    shown(ph.mean)
                )
            }),
            cautions: cautions(manganese, self.rulebook),
            reading: None,
            inferred: None,
            loosen_to: None,
            is_by_own_cores: false,
        })
    }

    fn share_of_pushes(&self, rule: &Rule, soil: &ZoneSoil<'_>) -> Option<Evidence> {
        let air::PushCount {
            hard,
            told: pushes,
            short,
        } = air::count_pushes(rule, soil.pushes);
        if pushes == 0 {
            return None;
        }
        let (_, standard_error) = confidence::share_with_standard_error(hard, pushes);
        let limit = rule.limit.unwrap_or_default().spoken(self.units);
        let layers = HardLayers::of(rule, soil.pushes);
        let place = layers.placed(self.units);
        let depth = rule.depths.first().copied();
        let within = depth
            .map(|depth| format!(" within {}", depth.show(self.units)))
            .unwrap_or_default();
        let mut cautions: Vec<String> = few_observations(pushes, self.rulebook)
            .into_iter()
            .collect();
        cautions.extend(self.pushes.moisture_caution());
        if short > 0 {
            cautions.push(format!(
                "{short} more pushes ended too soon to tell (at a stone, or on purpose) and are not counted"
            ));
        }
        Some(Evidence {
            layer: LayerKey::new(Analyte::ConeIndex, rule.methods.first().cloned(), depth),
            value: 100.0 * hard as f64 / pushes as f64,
            within: (0.0, 0.0),
            range: (0.0, 100.0),
            spread: None,
            standard_error,
            law: Law::Normal,
            observations: pushes,
            subject: format!(
                "in {hard} of {pushes} pushes the cone index rises above {limit}{within}{place}:"
            ),
            cautions,
            inferred: None,
            reading: None,
            loosen_to: layers.loosening_depth(),
            is_by_own_cores: false,
        })
    }

    /// What a reading by another method settles: the end of its interval that lies nearest to the threshold, where the whole interval
    /// lies on one side of it. A bound past the threshold comes before one that is not.
    pub fn inferred(&self, here: &RuleHere<'_>, soil: &ZoneSoil<'_>) -> Option<Evidence> {
        let rule = here.rule;
        let threshold = rule.threshold_for(self.crop);
        let bounding = here.bounding.iter().map(|at| &soil.profile[*at]);
        let settled = bounding
            .filter(|summary| summary.mean.is_finite())
            .filter_map(|summary| {
                let (evidence, is_settled) = self.bound(rule, summary, threshold)?;
                is_settled.then_some(evidence)
            });
        settled.max_by_key(|evidence| rule.is_past(evidence.value, threshold))
    }

    /// The bound of a rule's value that a reading by another method gives, and whether it settles on which side of the threshold the value lies.
    fn bound(
        &self,
        rule: &Rule,
        summary: &LayerSummary,
        threshold: f64,
    ) -> Option<(Evidence, bool)> {
        let mut inferences = self.rulebook.inferences.iter();
        let inference = inferences.find(|known| known.bridges(&summary.key, &rule.methods))?;
        let mut evidence = self.of_layer(rule, summary)?;
        let reading = evidence.value;
        let ends = inference.interval(reading);
        let (near, far) = match rule.side {
            Side::Above => ends,
            Side::Below => (ends.1, ends.0),
        };
        // Past: even the milder end is. Not past: even the worse end is not.
        let (is_past, is_sound) = (rule.is_past(near, threshold), !rule.is_past(far, threshold));
        evidence.value = if is_past || !is_sound { near } else { far };
        evidence.law = Law::Normal;
        let is_least = (evidence.value - ends.0).abs() <= (evidence.value - ends.1).abs();
        let end_of = |reading: f64| {
            let ends = inference.interval(reading);
            if is_least { ends.0 } else { ends.1 }
        };
        evidence.standard_error =
            (end_of(reading + evidence.standard_error) - end_of(reading)).abs();
        evidence.spread = None;
        evidence.within = (evidence.value, evidence.value);
        evidence.range = ends;
        evidence.subject = self.told(|| {
            let (factor, unit) = super::wording::shown_unit(&rule.unit, self.units);
            let shown = crate::units::significant(reading * factor, 3);
            format!(
                "{} {}; {}, so by the rule's method it is at {}",
                evidence.subject,
                super::wording::with_unit(&shown, unit),
                inference.why,
                if is_least { "least" } else { "most" }
            )
        });
        evidence.inferred = Some(inference.why.clone());
        evidence.reading = Some(reading);
        if is_past && !rule.is_past(reading, threshold) {
            evidence.cautions.extend(inference.caution.clone());
        }
        Some((evidence, is_past || is_sound))
    }

    /// Whether a reading by another method is past a rule's gate for certain, though it does not settle the threshold itself.
    pub fn closes_for_sure(&self, rule: &Rule, summary: &LayerSummary) -> bool {
        let from = rule.closes_from(self.crop);
        let bound = self.bound(rule, summary, from);
        !rule.blocks.is_empty()
            && bound.is_some_and(|(evidence, is_settled)| {
                is_settled && rule.is_past(evidence.value, from)
            })
    }

    /// The worst value of a rule that a layer by another method still allows; `None` where it tells nothing.
    pub fn worst_possible(&self, rule: &Rule, summary: &LayerSummary) -> Option<f64> {
        let mut inferences = self.rulebook.inferences.iter();
        let inference = inferences.find(|known| known.bridges(&summary.key, &rule.methods))?;
        let reading = summary.mean * factor_between(&summary.unit, &rule.unit)?;
        let ends = inference.interval(reading);
        let worst = if rule.side == Side::Above {
            ends.1
        } else {
            ends.0
        };
        worst.is_finite().then_some(worst)
    }
}

/// Cautions on the evidence of one layer in one zone.
fn cautions(summary: &LayerSummary, rulebook: &Rulebook) -> Vec<String> {
    let mut cautions = Vec::new();
    if let Some(few) = few_observations(summary.cores, rulebook) {
        cautions.push(few);
    }
    if summary.is_flat {
        cautions.push(FLAT.to_owned());
    }
    if summary.qualified > 0 {
        cautions.push(format!(
            "{} of the results lie outside the range of the test",
            summary.qualified
        ));
    }
    if !summary.standard_error.is_finite() {
        cautions.push("one observation only: how sure this is cannot be told".to_owned());
    }
    cautions
}

/// A caution where a zone holds fewer observations than the rulebook wants.
fn few_observations(count: usize, rulebook: &Rulebook) -> Option<String> {
    let fewest = rulebook.numbers.few_cores;
    ((count as f64) < fewest).then(|| match count {
        0 => "no observation lies inside this zone: the value is taken from its neighbours"
            .to_owned(),
        1 => "rests on one observation inside this zone".to_owned(),
        _ => format!("rests on {count} observations inside this zone"),
    })
}
