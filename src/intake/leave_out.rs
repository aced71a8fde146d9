//! Samples that the plan leaves out: their rows stay, their results do not count.

use crate::plan::{LeftOut, PointsSettings, Sample, Settings};
use crate::provenance::Place;
use crate::remark::Remark;

use super::source::shown;
use super::survey::PointTable;

/// Takes the results of the samples that the plan leaves out, and says so.
pub(super) fn leave_out(tables: &mut [PointTable], settings: &Settings, remarks: &mut Vec<Remark>) {
    for points in &settings.points {
        for left_out in &points.leave_out {
            let mut rows = 0;
            for table in tables.iter_mut() {
                rows += take_out(table, points, &left_out.sample);
            }
            remarks.push(remark(points, left_out, rows));
        }
    }
}

/// Empties the rows of a sample; gives their number.
fn take_out(table: &mut PointTable, points: &PointsSettings, sample: &Sample) -> usize {
    if *table.file != *shown(&points.file) {
        return 0;
    }
    let rows: Vec<usize> = (0..table.row.len())
        .filter(|at| is_of(table, sample, *at))
        .collect();
    for layer in &mut table.layers {
        for row in &rows {
            if let Some(value) = layer.values.get_mut(*row) {
                *value = f64::NAN;
            }
        }
        layer
            .qualified
            .retain(|(row, _)| !rows.contains(&(*row as usize)));
    }
    if let Some(cone) = &mut table.cone {
        let marks = cone.depths.len();
        for row in &rows {
            let push = cone.kilopascals.get_mut(row * marks..(row + 1) * marks);
            push.into_iter()
                .flatten()
                .for_each(|value| *value = f64::NAN);
            if let Some(refused) = cone.refused.get_mut(*row) {
                *refused = None;
            }
        }
    }
    rows.len()
}

fn is_of(table: &PointTable, sample: &Sample, at: usize) -> bool {
    match sample {
        Sample::Row(row) => table.row.get(at) == Some(row),
        Sample::Core(name) => {
            let id = table.id.as_ref().and_then(|ids| ids.get(at));
            id.is_some_and(|id| id.trim() == name)
        }
    }
}

fn remark(points: &PointsSettings, left_out: &LeftOut, rows: usize) -> Remark {
    let place = Place::file(shown(&points.file));
    let name = match &left_out.sample {
        Sample::Core(name) => format!("sample \"{name}\""),
        Sample::Row(row) => format!("row {row}"),
    };
    if rows == 0 {
        let what =
            format!("{name} is to be left out, and is not in the file: all samples are used");
        return Remark::warning("left-out-not-found", what).at(place).help(
            "correct the name under leave_out; it is compared with the column that id names",
        );
    }
    let what = format!("{name} is left out ({rows} row(s)): {}", left_out.why);
    Remark::info("left-out", what).at(place)
}
