//! What a zone is short of: by its soil test, and by its leaves; and how far the season has gone by the leaves that were taken.

use super::context::SeasonContext;
use super::tissue::TissueResult;
use crate::plan::Day;
use crate::rulebook::{Factor, FoliarRule};

/// What a zone is short of.
#[derive(Debug, Clone)]
pub(super) struct Lack {
    pub zone: u32,
    pub factor: Factor,
    pub sentence: String,
    pub severity: f64,
}

/// How far the season has gone: by the last leaves that were taken, wherever on the field.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Progress {
    window: f64,
    last: Option<(i64, Day)>,
}

impl Progress {
    pub(super) fn of(tissue: &[TissueResult], context: &SeasonContext<'_>) -> Self {
        let mut limits = context.rulebook.season.tissue.iter();
        // What leaves of a crop without limits say of the season is not known.
        if !limits.any(|limit| limit.crop == context.crop.name) {
            return Self::default();
        }
        let days = tissue
            .iter()
            .filter_map(|leaf| leaf.days_after_planting.zip(leaf.day));
        Self {
            window: tissue.iter().map(|leaf| leaf.window).fold(0.0, f64::max),
            last: days.max(),
        }
    }

    /// Why a feed comes too late.
    pub(super) fn too_late(&self, rule: &FoliarRule) -> Option<String> {
        let next = "it stands on the list for the next plan, with a soil test; act next year";
        let past = self.last.zip(rule.last_day);
        let past = past.filter(|((after, _), last)| *after as f64 > *last);
        if let Some(((after, day), _)) = past {
            return Some(format!(
                "Too late this season: leaves of {} were taken {after} days after planting, past the stage of the feed ({}); {next}",
                day.show(),
                rule.stage
            ));
        }
        (self.window > rule.window).then(|| {
            format!(
                "Too late this season: leaves were taken after the stage of the feed ({}); {next}",
                rule.stage
            )
        })
    }
}

/// The last samples of a zone that decide on a factor.
fn decided(tissue: &[TissueResult], zone: u32, factor: Factor) -> Option<&TissueResult> {
    tissue
        .iter()
        .filter(|leaf| (leaf.zone, leaf.factor) == (zone, factor) && leaf.is_short.is_some())
        .max_by_key(|leaf| leaf.day)
}

/// The shortages: of the soil test, unless the leaves have enough; and of the leaves.
pub(super) fn lacks(tissue: &[TissueResult], context: &SeasonContext<'_>) -> Vec<Lack> {
    let mut lacks: Vec<Lack> = Vec::new();
    for zone in context.zones {
        let first = lacks.len();
        for soil in zone.soil.iter().filter(|soil| soil.is_short) {
            let leaf = decided(tissue, zone.number, soil.factor);
            let has_enough = leaf.is_some_and(|leaf| leaf.is_short == Some(false));
            let is_told = lacks[first..].iter().any(|lack| lack.factor == soil.factor);
            if !has_enough && !is_told {
                lacks.push(Lack {
                    zone: zone.number,
                    factor: soil.factor,
                    sentence: soil.sentence.clone(),
                    severity: soil.severity,
                });
            }
        }
        for factor in Factor::ALL {
            let leaf = decided(tissue, zone.number, factor);
            let Some(leaf) = leaf.filter(|leaf| leaf.is_short == Some(true)) else {
                continue;
            };
            match lacks[first..].iter_mut().find(|lack| lack.factor == factor) {
                Some(lack) => {
                    lack.severity = lack.severity.max(leaf.severity);
                    lack.sentence = format!("{} {}", lack.sentence, leaf.sentence);
                }
                None => lacks.push(Lack {
                    zone: zone.number,
                    factor,
                    sentence: leaf.sentence.clone(),
                    severity: leaf.severity,
                }),
            }
        }
    }
    lacks
}
