use nalgebra::DMatrix;

use super::gain::{Gain, NotJudged, SecondOpinion};
use crate::trial::contrasts::{Cut, Line, Table};
use crate::trial::statistics::{spatial_errors, student_t_quantile};

/// Most segments that the spatial model takes: its work grows with their cube. Beyond, neighbouring segments are joined.
const MOST_SEGMENTS: usize = 240;

struct Row {
    check: usize,
    zone: usize,
    has_product: bool,
    yields: f64,
    place: (f64, f64),
}

/// Adds the second opinion to each zone that is judged. It knows only of likeness along the ground: an error that a pass carries along its whole length makes it
/// too sure, and it is never the verdict.
pub(super) fn add(
    zones: &mut [(u32, Result<Gain, NotJudged>)],
    table: &Table,
    lines: &[Line],
    cut: &Cut,
) {
    let judged: Vec<u32> = zones
        .iter()
        .filter(|(_, gain)| gain.is_ok())
        .map(|(zone, _)| *zone)
        .collect();
    let rows = rows(table, lines, cut, &judged);
    let (strips, kinds) = (table.checks.len(), judged.len());
    let present: Vec<usize> = (0..strips)
        .filter(|&check| rows.iter().any(|row| row.check == check))
        .collect();
    // Strips, zones but the first, product in each zone.
    let columns = present.len() + kinds.saturating_sub(1) + kinds;
    if kinds == 0 || rows.len() <= columns + 2 {
        return;
    }
    let design = DMatrix::from_fn(rows.len(), columns, |row, column| {
        let row = &rows[row];
        let is_one = if column < present.len() {
            row.check == present[column]
        } else if column < present.len() + kinds - 1 {
            row.zone == column - present.len() + 1
        } else {
            row.has_product && row.zone == column + 1 - present.len() - kinds
        };
        f64::from(u8::from(is_one))
    });
    let yields: Vec<f64> = rows.iter().map(|row| row.yields).collect();
    let places: Vec<(f64, f64)> = rows.iter().map(|row| row.place).collect();
    let Some(fit) = spatial_errors(&yields, &design, &places) else {
        return;
    };
    let first = columns - kinds;
    let t = student_t_quantile(0.95, (rows.len() - columns) as f64);
    for (at, zone) in judged.iter().enumerate() {
        let gain = fit.least_squares[first + at];
        let half = t * fit.spatial_errors[first + at];
        if let Some((_, Ok(found))) = zones.iter_mut().find(|(number, _)| number == zone) {
            found.opinion = Some(SecondOpinion {
                gain,
                interval: (gain - half, gain + half),
                spatial: fit.spatial,
            });
        }
    }
}

/// Segments of the checks and their sides in the judged zones, joined along the pass where they are many.
fn rows(table: &Table, lines: &[Line], cut: &Cut, judged: &[u32]) -> Vec<Row> {
    let counted: usize = table
        .checks
        .iter()
        .map(|&at| 3 * table.positions[at].segments.len())
        .sum();
    let joined = counted.div_ceil(MOST_SEGMENTS).max(1);
    let mut rows = Vec::new();
    for (check, &position) in table.checks.iter().enumerate() {
        let position = &table.positions[position];
        let Some(lanes) = position.lines else {
            continue;
        };
        let runs = position
            .segments
            .chunk_by(|a, b| a.zone == b.zone && a.at / joined == b.at / joined);
        for run in runs {
            let Some(zone) = judged.iter().position(|zone| *zone == run[0].zone) else {
                continue;
            };
            let along = run.iter().map(|s| cut.middle(s.at)).sum::<f64>() / run.len() as f64;
            for (lane, line) in lanes.iter().enumerate() {
                rows.push(Row {
                    check,
                    zone,
                    has_product: lane != 1,
                    yields: run.iter().map(|s| s.yields[lane]).sum::<f64>() / run.len() as f64,
                    place: (along, lines[*line].across),
                });
            }
        }
    }
    rows
}
