//! Where earlier runs found salt: it keeps what carries salt away from the seed until a test says that it is gone.

use super::ground::zones_of_cells;
use super::past_run::PastRun;
use super::season_record::ZoneRecord;
use crate::field::Field;
use crate::rulebook::{Factor, Gate};

/// For each cell of the grid the season in which the last of the runs that judged salt there found it; the runs stand by rising season.
#[must_use]
pub fn earlier_salt(runs: &[PastRun], field: &Field) -> Vec<Option<u16>> {
    let mut found = vec![None; field.grid.cells.len()];
    for run in runs {
        for (cell, zone) in found.iter_mut().zip(zones_of_cells(run, field)) {
            let Some(zone) = zone.and_then(|number| run.zone(number)) else {
                continue;
            };
            match salt_of(zone) {
                Salt::Found => *cell = Some(run.record.season),
                Salt::NotFound => *cell = None,
                // That run held salt against it which a still earlier one had found.
                Salt::HeldAgainstIt => *cell = cell.or(Some(run.record.season)),
                Salt::NotJudged => {}
            }
        }
    }
    found
}

/// What a run says of a zone's salt.
enum Salt {
    Found,
    NotFound,
    HeldAgainstIt,
    NotJudged,
}

fn salt_of(zone: &ZoneRecord) -> Salt {
    let gate = Gate::ClosedBy(Factor::Salt).to_string();
    let is_closed = zone
        .rates
        .iter()
        .any(|rate| rate.gate.as_ref() == Some(&gate));
    let mut factors = zone.factors.iter();
    match factors.find(|known| known.factor == Factor::Salt.name()) {
        Some(salt) if salt.is_limiting || is_closed => Salt::Found,
        Some(_) => Salt::NotFound,
        None if is_closed => Salt::HeldAgainstIt,
        None => Salt::NotJudged,
    }
}
