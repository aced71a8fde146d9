//! A zone's own cores of a layer that has one value for the whole field. Where that value is past a threshold and no core of the zone is, the
//! cores are believed: nothing is given on ground that does not ask for it.
//!
//! It only ever takes back. The means of parts of a field differ by chance too, and a rate that one of them made would be chance's; that all
//! of several cores stand on the sound side of a threshold that the field's mean is past happens by chance once in 2 to the power of their
//! number at most, where results lie about their mean evenly. What a limit holds back stays held back: a gate that stays shut costs less than
//! salt beside the seed.

use std::collections::BTreeSet;

use super::confidence::{self, Law};
use super::evidence::{Evidence, FLAT};
use super::field_rules::{FieldRules, ZoneSoil};
use super::standing::Standing;
use super::wording::{factor_between, shown_unit, subject, with_unit};
use super::{Finding, LayerSummary, ZoneDiagnosis};
use crate::analyte::Analyte;
use crate::remark::Remark;
use crate::rulebook::Rule;
use crate::units::{significant, spoken, value_beside};

impl FieldRules<'_> {
    /// The evidence of a layer without a map by the zone's own cores, where the field's mean is past the rule's threshold and none of them is;
    /// else as it was.
    pub fn by_own_cores(
        &self,
        rule: &Rule,
        summary: &LayerSummary,
        evidence: Evidence,
        soil: &ZoneSoil<'_>,
    ) -> Evidence {
        let threshold = rule.threshold_for(self.crop);
        let is_asked = summary.is_flat
            && summary.qualified == 0
            && rule.blocks.is_empty()
            && is_of_cores(&summary.key.analyte)
            && rule.is_past(evidence.value, threshold);
        let own = is_asked.then(|| self.own_values(rule, summary, soil));
        let Some(own) = own.flatten() else {
            return evidence;
        };
        let is_sound = |value: &f64| !rule.is_past(*value, threshold);
        if !own.iter().all(is_sound) {
            return evidence;
        }
        let (mean, deviation) = mean_and_deviation(&own);
        let standard_error = deviation / (own.len() as f64).sqrt();
        let subject = self.told(|| self.subject_of_own(rule, summary, evidence.value, &own));
        let mut cautions = evidence.cautions;
        cautions.retain(|caution| caution != FLAT);
        Evidence {
            value: mean,
            within: (mean, mean),
            law: Law::Normal,
            range: confidence::interval_90(mean, standard_error, Law::Normal),
            spread: Some(deviation),
            standard_error,
            observations: own.len(),
            subject,
            cautions,
            is_by_own_cores: true,
            ..evidence
        }
    }

    /// What the zone's cores read of a layer, in the rule's unit; `None` where they stand at fewer places than the rulebook wants.
    fn own_values(
        &self,
        rule: &Rule,
        summary: &LayerSummary,
        soil: &ZoneSoil<'_>,
    ) -> Option<Vec<f64>> {
        let cores = soil.standing.cores(&summary.key, soil.zone);
        let places: BTreeSet<(u64, u64)> = cores
            .iter()
            .filter_map(|core| soil.standing.place(core))
            .map(|(x, y)| (x.to_bits(), y.to_bits()))
            .collect();
        let is_enough = places.len() as f64 >= self.rulebook.numbers.own_cores_from;
        let in_unit = |core: &super::standing::Core<'_>| {
            Some(core.value * factor_between(&core.layer.unit, &rule.unit)?)
        };
        cores
            .iter()
            .map(in_unit)
            .collect::<Option<Vec<f64>>>()
            .filter(|_| is_enough)
    }

    /// "no map of pH (water), 0-6 in, could be drawn, and the field's mean is 5.91; none of the 9 cores here is below 6 (6.45 to 6.55), and
    /// their mean is".
    fn subject_of_own(
        &self,
        rule: &Rule,
        summary: &LayerSummary,
        of_field: f64,
        own: &[f64],
    ) -> String {
        let (factor, unit) = shown_unit(&rule.unit, self.units);
        let shown = |value: f64| spoken(value * factor, unit);
        let threshold = shown(rule.threshold_for(self.crop));
        let beside = |value: f64| value_beside(shown(value), threshold);
        let (least, most) = ends(own);
        format!(
            "no map of {} could be drawn, and the field's mean is {}; none of the {} cores here is {} {} ({} to {}), and their mean is",
            subject(&summary.key, self.units),
            with_unit(&beside(of_field), unit),
            own.len(),
            rule.side.name(),
            with_unit(&significant(threshold, 4), unit),
            beside(least),
            beside(most)
        )
    }
}

/// Takes what the zone's own cores say of a layer for the zone's value of it, where they took a limit back: what else asks for the layer, such
/// as a product that is for acid ground alone, goes by the same number.
pub(super) fn believe(
    findings: &[Finding],
    (profile, standing, zone): (&mut [LayerSummary], &Standing<'_>, usize),
) {
    for summary in profile.iter_mut().filter(|summary| summary.is_flat) {
        let is_taken_back = |finding: &Finding| {
            finding.is_by_own_cores && finding.layer.as_ref() == Some(&summary.key)
        };
        if !findings.iter().any(is_taken_back) {
            continue;
        }
        let cores = standing.cores(&summary.key, zone);
        let own: Vec<f64> = cores.iter().map(|core| core.value).collect();
        let (mean, deviation) = mean_and_deviation(&own);
        summary.mean = mean;
        summary.spread = deviation;
        summary.standard_error = deviation / (own.len() as f64).sqrt();
        summary.range = ends(&own);
        summary.is_flat = false;
    }
}

/// One remark for each zone and threshold where the zone's own cores took a limit back.
pub(super) fn remarks(zones: &[ZoneDiagnosis]) -> Vec<Remark> {
    let said = |zone: &ZoneDiagnosis, finding: &Finding| {
        let (number, sentence) = (zone.number, &finding.sentence);
        let what = format!("zone {number}: {sentence}: nothing is given for it there");
        Remark::warning("own-cores-sound", what).help(
            "look at the cores on the map: more of them, or one method for the whole field, would let a map be drawn",
        )
    };
    let of_zone = |zone: &ZoneDiagnosis| -> Vec<Remark> {
        let own = zone
            .findings
            .iter()
            .filter(|finding| finding.is_by_own_cores);
        own.map(|finding| said(zone, finding)).collect()
    };
    zones.iter().flat_map(of_zone).collect()
}

fn ends(values: &[f64]) -> (f64, f64) {
    values.iter().fold(
        (f64::INFINITY, f64::NEG_INFINITY),
        |(least, most), value| (least.min(*value), most.max(*value)),
    )
}

fn is_of_cores(analyte: &Analyte) -> bool {
    !matches!(analyte, Analyte::ConeIndex | Analyte::Covariate(_))
}

/// Mean and standard deviation of a sample.
fn mean_and_deviation(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    (mean, (squares / (count - 1.0).max(1.0)).sqrt())
}
