//! What a zone is short of: by its soil test, and by its leaves.

use super::context::SeasonContext;
use super::tissue::TissueResult;
use crate::rulebook::Factor;

/// What a zone is short of.
#[derive(Debug, Clone)]
pub(super) struct Lack {
    pub zone: u32,
    pub factor: Factor,
    pub sentence: String,
    pub severity: f64,
    /// Place in the season at which it was found: 0 where the soil test said it before planting.
    pub found: f64,
}

/// The shortages: of the soil test, unless the leaves have enough; and of the leaves.
pub(super) fn lacks(tissue: &[TissueResult], context: &SeasonContext<'_>) -> Vec<Lack> {
    let mut lacks: Vec<Lack> = Vec::new();
    for zone in context.zones {
        for soil in zone.soil.iter().filter(|soil| soil.is_short) {
            let leaf = tissue.iter().find(|leaf| {
                leaf.zone == zone.number
                    && leaf.factor == soil.factor
                    && leaf.is_short == Some(false)
            });
            if leaf.is_none()
                && lacks
                    .iter()
                    .all(|lack| (lack.zone, lack.factor) != (zone.number, soil.factor))
            {
                lacks.push(Lack {
                    zone: zone.number,
                    factor: soil.factor,
                    sentence: soil.sentence.clone(),
                    severity: soil.severity,
                    found: 0.0,
                });
            }
        }
        for leaf in tissue
            .iter()
            .filter(|leaf| leaf.zone == zone.number && leaf.is_short == Some(true))
        {
            match lacks
                .iter_mut()
                .find(|lack| lack.zone == zone.number && lack.factor == leaf.factor)
            {
                Some(lack) => {
                    lack.severity = lack.severity.max(leaf.severity);
                    lack.sentence = format!("{} {}", lack.sentence, leaf.sentence);
                }
                None => lacks.push(Lack {
                    zone: zone.number,
                    factor: leaf.factor,
                    sentence: leaf.sentence.clone(),
                    severity: leaf.severity,
                    found: leaf.window,
                }),
            }
        }
    }
    lacks
}
