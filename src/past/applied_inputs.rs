//! What the logs say of the inputs of an earlier season, zone by zone of that season.

use super::applied::{AppliedPlaces, AppliedRate, by_part};
use super::ground::Ground;
use super::past_run::PastRun;
use crate::field::Field;

/// What the logs of a product say of one earlier zone.
#[derive(Debug, Clone, PartialEq)]
pub struct EarlierApplied {
    /// The season.
    pub season: u16,
    /// Name of the product.
    pub product: String,
    /// Number of the zone in its season.
    pub zone: u32,
    /// What was applied there, by area.
    pub applied: AppliedRate,
}

/// What the logs say of every zone of an earlier run, product by product; several passes of a product add up.
#[must_use]
pub fn earlier_applied(
    run: &PastRun,
    ground: &Ground,
    logs: &[AppliedPlaces],
    field: &Field,
) -> Vec<EarlierApplied> {
    let mut found: Vec<EarlierApplied> = Vec::new();
    let season = run.record.season;
    for log in logs.iter().filter(|log| log.season == season) {
        let cells = log.on_cells(field);
        let by_zone = by_part(field, &cells, |at| {
            ground.of_cell.get(at).copied().flatten()
        });
        for (zone, applied) in by_zone {
            let same =
                |known: &&mut EarlierApplied| known.zone == zone && known.product == log.product;
            match found.iter_mut().find(same) {
                Some(known) => {
                    known.applied.rate += applied.rate;
                    known.applied.share = known.applied.share.max(applied.share);
                }
                None => found.push(EarlierApplied {
                    season,
                    product: log.product.clone(),
                    zone,
                    applied,
                }),
            }
        }
    }
    found
}
