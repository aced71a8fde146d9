//! Whether a zone meets the conditions of a rule or a product. The only place that judges it: diagnosis and rates both ask here.
//!
//! A layer tells where its analyte, method and unit are the condition's (units are converted). Of several, the one that reaches deepest
//! within the topsoil tells, else the shallowest below it. Where only another method was measured, an inference of the rulebook may
//! settle it; where nothing settles it, the condition itself says what holds.

use super::wording::factor_between;
use super::{LayerSummary, ZoneDiagnosis};
use crate::rulebook::{Condition, Factor, Rulebook};
use crate::units::Length;

/// A condition that a zone does not meet.
#[derive(Debug, Clone, Copy)]
pub struct Unmet<'r> {
    /// The condition.
    pub condition: &'r Condition,
    /// Whether a value says so; otherwise nothing tells, and the condition asks for a value.
    pub is_known: bool,
}

impl Unmet<'_> {
    /// Why, in words.
    #[must_use]
    pub fn why(&self) -> String {
        if self.is_known {
            return self.condition.why.clone();
        }
        format!(
            "{} is not known by a method that counts here, and it decides: {}",
            self.condition.analyte.label(),
            self.condition.why
        )
    }
}

impl ZoneDiagnosis {
    /// The first of some conditions that the zone does not meet; `None` where it meets all.
    #[must_use]
    pub fn unmet<'r>(&self, conditions: &'r [Condition], rulebook: &Rulebook) -> Option<Unmet<'r>> {
        let limits = |factor: &Factor| self.limits().any(|finding| finding.factor == *factor);
        conditions
            .iter()
            .filter(|condition| !condition.unless_limits.iter().any(limits))
            .find_map(|condition| unmet(condition, &self.profile, rulebook))
    }
}

pub(super) fn first_unmet<'r>(
    conditions: &'r [Condition],
    profile: &[LayerSummary],
    rulebook: &Rulebook,
) -> Option<Unmet<'r>> {
    let mut conditions = conditions.iter();
    conditions.find_map(|condition| unmet(condition, profile, rulebook))
}

fn unmet<'r>(
    condition: &'r Condition,
    profile: &[LayerSummary],
    rulebook: &Rulebook,
) -> Option<Unmet<'r>> {
    let told = is_met(condition, profile, rulebook);
    let is_unmet = !told.unwrap_or(condition.if_unknown);
    is_unmet.then_some(Unmet {
        condition,
        is_known: told.is_some(),
    })
}

/// Whether a zone meets a condition; `None` where nothing that was measured settles it.
fn is_met(condition: &Condition, profile: &[LayerSummary], rulebook: &Rulebook) -> Option<bool> {
    let takes = |summary: &LayerSummary| {
        let method = summary.key.method.as_ref();
        condition.methods.is_empty() || method.is_some_and(|m| condition.methods.contains(m))
    };
    let topsoil = rulebook.numbers.topsoil_depth;
    if let Some((_, value)) = telling(condition, profile, topsoil, takes) {
        return Some(condition.is_met_by(value));
    }
    let bridge = |summary: &LayerSummary| {
        rulebook
            .inferences
            .iter()
            .find(|inference| inference.bridges(&summary.key, &condition.methods))
    };
    let (summary, reading) = telling(condition, profile, topsoil, |s| bridge(s).is_some())?;
    let (least, most) = bridge(summary)?.interval(reading);
    let (low, high) = (condition.is_met_by(least), condition.is_met_by(most));
    (low == high).then_some(low)
}

/// The layer that tells of a condition, and its value in the condition's unit.
pub(super) fn telling<'a>(
    condition: &Condition,
    profile: &'a [LayerSummary],
    topsoil: Length,
    takes: impl Fn(&LayerSummary) -> bool,
) -> Option<(&'a LayerSummary, f64)> {
    let rank = |summary: &LayerSummary| {
        let bottom = summary.key.depth.map_or(0.0, |d| d.bottom().metres());
        let tenths_mm = (bottom * 1e4) as i64;
        let is_topsoil = bottom <= topsoil.metres();
        (is_topsoil, if is_topsoil { tenths_mm } else { -tenths_mm })
    };
    profile
        .iter()
        .filter(|summary| summary.key.analyte == condition.analyte && takes(summary))
        .filter_map(|summary| {
            let value = summary.mean * factor_between(&summary.unit, &condition.unit)?;
            value.is_finite().then_some((summary, value))
        })
        .max_by_key(|(summary, _)| rank(summary))
}
