//! Two methods for one thing, each on a part of the field of its own: the values of one stand for the ground of the other. That is told, a
//! finding is less sure for it, and where the cores of the other method say the contrary that is told too.

use super::standing::Standing;
use super::wording::factor_between;
use super::{Finding, Outcome, ZoneDiagnosis};
use crate::analyte::LayerKey;
use crate::plan::Settings;
use crate::remark::Remark;
use crate::rulebook::{Rule, Rulebook, Side, Statistic};

/// A place is on the ground of a layer up to so many times the usual distance of its neighbouring cores (own).
const REACH: f64 = 2.0;
/// Most cores whose distances are measured.
const MOST: usize = 400;

/// Two layers of one thing by different methods.
struct Pair<'a> {
    keys: [&'a LayerKey; 2],
    /// Of each layer, how many cores it has.
    cores: [usize; 2],
    /// Of each layer, the zones of those of its cores that stand where the other layer has none.
    alone: [Vec<usize>; 2],
}

/// One remark for each pair; the findings of the zones are made less sure.
pub(super) fn weigh(
    standing: &Standing<'_>,
    rulebook: &Rulebook,
    settings: &Settings,
    zones: &mut [ZoneDiagnosis],
) -> Vec<Remark> {
    let from = rulebook.numbers.cores_elsewhere_from;
    let mut remarks = Vec::new();
    for pair in pairs(standing) {
        if !pair.is_apart(zones, from) {
            continue;
        }
        let mut contrary = Vec::new();
        for zone in &mut *zones {
            if pair.weigh_zone(zone, standing, rulebook, &settings.crop) {
                contrary.push(zone.number);
            }
        }
        remarks.push(pair.remark(&contrary));
    }
    remarks
}

/// The pairs of layers that differ in method alone and have cores apart.
fn pairs<'a>(standing: &Standing<'a>) -> Vec<Pair<'a>> {
    let keys = standing.keys_of_cores();
    let mut found = Vec::new();
    for (at, one) in keys.iter().enumerate() {
        for other in &keys[at + 1..] {
            let is_pair = one.analyte == other.analyte
                && one.depth == other.depth
                && one.method.is_some()
                && other.method.is_some();
            if is_pair {
                let places = [standing.places(one), standing.places(other)];
                let alone = [apart(&places[0], &places[1]), apart(&places[1], &places[0])];
                found.push(Pair {
                    keys: [one, other],
                    cores: [places[0].len(), places[1].len()],
                    alone,
                });
            }
        }
    }
    found
}

type Place = ((f64, f64), usize);

/// The zones of the places that lie off the ground of others.
fn apart(places: &[Place], others: &[Place]) -> Vec<usize> {
    let step = others.len().div_ceil(MOST).max(1);
    let away = |at: (f64, f64)| {
        let others = others.iter();
        others.map(move |(other, _)| (other.0 - at.0).hypot(other.1 - at.1))
    };
    // Repeats of one place are one place.
    let to_next = |at: (f64, f64)| {
        let others = away(at).filter(|gap| *gap > 0.0);
        others.fold(f64::INFINITY, f64::min)
    };
    let own = others.iter().step_by(step);
    let mut gaps: Vec<f64> = own.map(|(at, _)| to_next(*at)).collect();
    gaps.sort_by(f64::total_cmp);
    let usual = gaps
        .get(gaps.len() / 2)
        .copied()
        .filter(|gap| gap.is_finite());
    let reach = REACH * usual.unwrap_or(0.0);
    let step = places.len().div_ceil(MOST).max(1);
    let asked = places.iter().step_by(step);
    let off = asked.filter(|(at, _)| away(*at).all(|gap| gap > reach));
    off.flat_map(|(_, zone)| std::iter::repeat_n(*zone, step))
        .collect()
}

impl Pair<'_> {
    /// Whether ground of one layer is told of by the other: by the one that decides, where only one does; else each must have ground of its
    /// own.
    fn is_apart(&self, zones: &[ZoneDiagnosis], from: f64) -> bool {
        let all = self.cores[0] + self.cores[1];
        let is_from = |at: usize| self.alone[at].len() as f64 >= from * all as f64;
        let decides = |at: usize| {
            let mut findings = zones.iter().flat_map(|zone| &zone.findings);
            findings.any(|finding| {
                finding.is_settled()
                    && finding.inferred.is_none()
                    && finding.layer.as_ref() == Some(self.keys[at])
            })
        };
        match (decides(0), decides(1)) {
            (true, false) => is_from(1),
            (false, true) => is_from(0),
            _ => is_from(0) && is_from(1),
        }
    }

    /// Makes the findings by either layer less sure; tells whether the other layer says the contrary.
    fn weigh_zone(
        &self,
        zone: &mut ZoneDiagnosis,
        standing: &Standing<'_>,
        rulebook: &Rulebook,
        crop: &str,
    ) -> bool {
        let mut is_contrary = false;
        for (own, other) in [(0, 1), (1, 0)] {
            let here = standing.cores(self.keys[own], zone.zone).len();
            let there = self.alone[other]
                .iter()
                .filter(|at| **at == zone.zone)
                .count();
            if there == 0 {
                continue;
            }
            let covered = here as f64 / (here + there) as f64;
            let says: Vec<Option<bool>> = zone
                .findings
                .iter()
                .map(|finding| says(zone, finding, self.keys[other], rulebook, crop))
                .collect();
            for (finding, says) in zone.findings.iter_mut().zip(says) {
                if !finding.is_settled() || finding.layer.as_ref() != Some(self.keys[own]) {
                    continue;
                }
                // Nobody knows of the ground of the other, or the other tells.
                let of_the_rest = says.map_or(0.5, f64::from);
                finding.confidence = covered * finding.confidence + (1.0 - covered) * of_the_rest;
                finding.cautions.push(format!(
                    "{there} more cores here were read by another method, where no core was read by this one"
                ));
                is_contrary |= says.is_some_and(|past| past != is_limiting(finding));
            }
        }
        is_contrary
    }

    fn remark(&self, contrary: &[u32]) -> Remark {
        let method = |at: usize| {
            self.keys[at]
                .method
                .as_ref()
                .map_or("", |method| method.name())
        };
        let means = match contrary {
            [] => "the values of one method stand for the ground of the other".to_owned(),
            _ => "the two say the contrary of each other, and the values of one stand for the ground of both".to_owned(),
        };
        let what = format!(
            "{} was read by {} at {} cores and by {} at {} cores that stand apart from them: {means}",
            self.keys[0].analyte.label(),
            method(0),
            self.cores[0],
            method(1),
            self.cores[1]
        );
        Remark::warning("methods-apart", what).help(
            "have one part tested again by the other's method, or plan the two parts as two fields",
        )
    }
}

fn is_limiting(finding: &Finding) -> bool {
    finding.outcome == Outcome::Limiting
}

/// Whether another layer tells that a zone is past a finding's threshold: by a rule of its own for the factor, or by what its method says of
/// the finding's; `None` where it does not tell.
fn says(
    zone: &ZoneDiagnosis,
    finding: &Finding,
    other: &LayerKey,
    rulebook: &Rulebook,
    crop: &str,
) -> Option<bool> {
    let rule = rulebook.rule(&finding.rule)?;
    let mut judged = zone.findings.iter().filter(|other| other.is_settled());
    let own =
        judged.find(|known| known.factor == finding.factor && known.layer.as_ref() == Some(other));
    own.map(is_limiting)
        .or_else(|| bound(zone, rule, other, rulebook, crop))
}

fn bound(
    zone: &ZoneDiagnosis,
    rule: &Rule,
    other: &LayerKey,
    rulebook: &Rulebook,
    crop: &str,
) -> Option<bool> {
    if rule.statistic != Statistic::Mean {
        return None;
    }
    let mut inferences = rulebook.inferences.iter();
    let inference = inferences.find(|known| known.bridges(other, &rule.methods))?;
    let summary = zone.profile.iter().find(|summary| summary.key == *other)?;
    let reading = summary.mean * factor_between(&summary.unit, &rule.unit)?;
    let (least, most) = inference.interval(reading);
    let (mild, harsh) = match rule.side {
        Side::Above => (least, most),
        Side::Below => (most, least),
    };
    let threshold = rule.threshold_for(crop);
    match (
        rule.is_past(mild, threshold),
        rule.is_past(harsh, threshold),
    ) {
        (true, _) => Some(true),
        (false, false) => Some(false),
        (false, true) => None,
    }
}
