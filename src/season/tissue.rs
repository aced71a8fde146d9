//! What the leaves are short of, by the rulebook's limits for the crop and the part of the plant.

use serde::Serialize;

use super::context::SeasonContext;
use super::readings::TissueSample;
use crate::crop::sample;
use crate::rulebook::{Factor, TissueRule};
use crate::units::significant;

/// One content of one zone compared with a limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TissueResult {
    /// Number of the zone.
    pub zone: u32,
    /// What it speaks of.
    pub factor: Factor,
    /// How many samples.
    pub samples: usize,
    /// Mean content, percent of the dry matter.
    pub content_pct: f64,
    /// The limit, percent; `None` where none holds for this crop and part.
    pub limit_pct: Option<f64>,
    /// Whether it is under the limit; `None` where none holds.
    pub is_short: Option<bool>,
    /// 0 at the limit to 1 at nothing.
    pub severity: f64,
    /// The part of the plant that the limit is for; empty where none holds.
    pub part: String,
    /// The limit's unit.
    pub unit: &'static str,
    /// Where the limit comes from; empty where none holds.
    pub source: String,
    /// Place in the season at which such leaves are taken; 0 where no limit holds.
    #[serde(skip)]
    pub window: f64,
    /// One sentence.
    pub sentence: String,
}

/// All contents of all zones.
pub(super) fn tissue(samples: &[TissueSample], context: &SeasonContext<'_>) -> Vec<TissueResult> {
    let mut keys: Vec<(u32, Factor, &str)> = Vec::new();
    for sample in samples {
        for (factor, _) in &sample.contents {
            keys.push((sample.spot.zone, *factor, sample.part.as_str()));
        }
    }
    keys.sort_unstable();
    keys.dedup();
    let of = keys.into_iter().filter_map(|(zone, factor, part)| {
        let values: Vec<f64> = samples
            .iter()
            .filter(|sample| sample.spot.zone == zone && sample.part == part)
            .flat_map(|sample| &sample.contents)
            .filter(|(own, _)| *own == factor)
            .map(|(_, percent)| *percent)
            .collect();
        result(&values, zone, factor, part, context)
    });
    of.collect()
}

fn result(
    values: &[f64],
    zone: u32,
    factor: Factor,
    part: &str,
    context: &SeasonContext<'_>,
) -> Option<TissueResult> {
    let of = sample(values)?;
    let rules = context.rulebook.season.tissue.iter();
    let own: Vec<&TissueRule> = rules
        .filter(|rule| rule.crop == context.crop.name && rule.factor == factor)
        .collect();
    let rule = own.iter().find(|rule| part.contains(&rule.part));
    let name = crate::text::capital(factor.name());
    let Some(rule) = rule else {
        return Some(TissueResult {
            zone,
            factor,
            samples: of.count,
            content_pct: of.mean,
            limit_pct: None,
            is_short: None,
            severity: 0.0,
            part: String::new(),
            unit: "%",
            source: String::new(),
            window: 0.0,
            sentence: not_comparable(&name, part, own.first().copied(), context),
        });
    };
    let factor_of = if rule.unit == "ppm" { 10_000.0 } else { 1.0 };
    let limit = rule.below / factor_of;
    let is_short = of.mean < limit;
    Some(TissueResult {
        zone,
        factor,
        samples: of.count,
        content_pct: of.mean,
        limit_pct: Some(limit),
        is_short: Some(is_short),
        severity: (1.0 - of.mean / limit).clamp(0.0, 1.0),
        part: rule.part.clone(),
        unit: rule.unit,
        source: rule.source.clone(),
        window: rule.window,
        sentence: format!(
            "{name} in the {} is {} {}, {} the limit of {} {} ({}).",
            rule.part,
            significant(of.mean * factor_of, 3),
            rule.unit,
            if is_short { "below" } else { "not below" },
            significant(rule.below, 3),
            rule.unit,
            rule.source
        ),
    })
}

/// Why a content is not compared.
fn not_comparable(
    name: &str,
    part: &str,
    rule: Option<&TissueRule>,
    context: &SeasonContext<'_>,
) -> String {
    let Some(rule) = rule else {
        return format!(
            "{name}: the rulebook holds no limit in the leaves of {}.",
            context.crop.label
        );
    };
    let part = if part.is_empty() {
        "a part that is not named"
    } else {
        part
    };
    format!(
        "{name} of {part} is not comparable: the limit is for the {} ({}).",
        rule.part, rule.source
    )
}
