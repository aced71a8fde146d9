//! Samples that carry one name twice, and results that stand at one place twice.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::Arc;

use rayon::prelude::*;

use crate::analyte::LayerKey;
use crate::plan::PointKind;
use crate::provenance::Place;
use crate::remark::Remark;

use crate::intake::context::Context;
use crate::intake::survey::PointTable;
use crate::intake::table::tally::RowTally;

/// Says which rows repeat a sample's name at another place, or a layer's result at one place.
pub(in crate::intake) fn remark_on_duplicates(table: &PointTable, context: &mut Context<'_>) {
    if table.kind == PointKind::Cores || table.x.len() <= 100_000 {
        names(table, context);
    }
    if table.kind == PointKind::Cores {
        places(table, context);
    }
}

/// Says which results stand at the very place of a result of another file: the map would take two seasons or two depths for one.
pub(in crate::intake) fn remark_on_files_at_one_place(tables: &[PointTable]) -> Vec<Remark> {
    let mut first: HashMap<(&LayerKey, u64, u64), usize> = HashMap::new();
    let mut remarks = Vec::new();
    for (at, table) in tables
        .iter()
        .enumerate()
        .filter(|(_, table)| table.kind == PointKind::Cores)
    {
        let mut repeated: BTreeMap<usize, (usize, &LayerKey)> = BTreeMap::new();
        for layer in &table.layers {
            let placed = layer.values.iter().zip(table.x.iter().zip(&table.y));
            for (_, (x, y)) in placed.filter(|(value, (x, _))| value.is_finite() && x.is_finite()) {
                let earlier = *first
                    .entry((&layer.key, x.to_bits(), y.to_bits()))
                    .or_insert(at);
                if earlier != at {
                    repeated.entry(earlier).or_insert((0, &layer.key)).0 += 1;
                }
            }
        }
        remarks.extend(repeated.into_iter().filter_map(|(earlier, (count, key))| {
            let what = format!(
                "{count} results stand at the very places of results of {} for the same depth ({key} among them): the map takes both together",
                tables.get(earlier)?.file
            );
            let place = Place::file(Arc::clone(&table.file));
            Some(
                Remark::warning("files-at-one-place", what)
                    .at(place)
                    .help("write each file's own depth; of two seasons leave the older file out"),
            )
        }));
    }
    remarks
}

fn names(table: &PointTable, context: &mut Context<'_>) {
    let Some(ids) = &table.id else { return };
    let mut first: HashMap<&str, (u64, u64)> = HashMap::new();
    let mut repeated = RowTally::default();
    for (((id, x), y), row) in ids.iter().zip(&table.x).zip(&table.y).zip(&table.row) {
        let place = (x.to_bits(), y.to_bits());
        if !id.is_empty() && *first.entry(id).or_insert(place) != place {
            repeated.add(*row);
        }
    }
    let place = context.place();
    context.remarks.extend(repeated.remark(|rows| {
        let what = format!(
            "{} a sample name at another place: kept as samples of their own",
            rows.do_it("repeats", "repeat")
        );
        let remark = Remark::warning("repeated-sample-name", what).at(place);
        remark.help("give each place its own name")
    }));
}

/// Two results of one layer at the very same place.
fn places(table: &PointTable, context: &mut Context<'_>) {
    let shared = rows_that_may_share_a_place(table);
    let mut rows: Vec<u32> = Vec::new();
    for layer in table.layers.iter().filter(|_| !shared.is_empty()) {
        let mut seen: HashSet<(u64, u64)> = HashSet::new();
        for &at in &shared {
            let (x, y) = (table.x[at], table.y[at]);
            if layer.values[at].is_finite()
                && x.is_finite()
                && !seen.insert((x.to_bits(), y.to_bits()))
            {
                rows.push(table.row[at]);
            }
        }
    }
    rows.sort_unstable();
    rows.dedup();
    let mut repeated = RowTally::default();
    for row in rows {
        repeated.add(row);
    }
    let place = context.place();
    context.remarks.extend(repeated.remark(|rows| {
        let what = format!(
            "{} a result at the place of an earlier row: all are kept, and the map takes them together",
            rows.do_it("repeats", "repeat")
        );
        let remark = Remark::warning("repeated-place", what).at(place);
        remark.help("leave one of them out if it is a copy")
    }));
}

/// `RowTally` (by their index, rising) whose place has the same fingerprint as another row's. Sorting the fingerprints of a
/// million places is much cheaper than a set of them, and hardly any row is left to be looked at closely.
fn rows_that_may_share_a_place(table: &PointTable) -> Vec<usize> {
    let fingerprint = |at: usize| {
        (table.x[at].to_bits() ^ table.y[at].to_bits().rotate_left(29))
            .wrapping_mul(0x9E37_79B9_7F4A_7C15)
    };
    let mut all: Vec<u64> = (0..table.x.len()).map(fingerprint).collect();
    all.par_sort_unstable();
    let mut repeated: Vec<u64> = all
        .windows(2)
        .filter(|pair| pair[0] == pair[1])
        .map(|pair| pair[0])
        .collect();
    repeated.dedup();
    if repeated.is_empty() {
        return Vec::new();
    }
    (0..table.x.len())
        .filter(|&at| repeated.binary_search(&fingerprint(at)).is_ok())
        .collect()
}
