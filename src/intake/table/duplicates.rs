//! Samples that carry one name twice, and results that stand at one place twice.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use rayon::prelude::*;

use crate::analyte::{Catalogue, LayerKey};
use crate::plan::PointKind;
use crate::provenance::Place;
use crate::remark::Remark;
use crate::units::significant;

use crate::intake::context::Context;
use crate::intake::survey::{LayerColumn, PointTable};
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
    let mut conflicts: Vec<Conflict<'_>> = Vec::new();
    for layer in table.layers.iter().filter(|_| !shared.is_empty()) {
        let mut seen: HashMap<(u64, u64), usize> = HashMap::new();
        for &at in &shared {
            let (x, y) = (table.x[at], table.y[at]);
            if !layer.values[at].is_finite() || !x.is_finite() {
                continue;
            }
            let first = *seen.entry((x.to_bits(), y.to_bits())).or_insert(at);
            if first != at {
                rows.push(table.row[at]);
                conflicts.extend(Conflict::between(table, layer, (first, at)));
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
    remark_on_conflicts(conflicts, context);
}

/// Two results of one layer at one place that are farther apart than a laboratory's repeats of one sample.
struct Conflict<'a> {
    key: &'a LayerKey,
    unit: &'a str,
    /// What the sample is called.
    name: String,
    rows: [u32; 2],
    values: [f64; 2],
}

/// Most pairs that are named.
const MOST_CONFLICTS: usize = 3;

impl<'a> Conflict<'a> {
    fn between(
        table: &'a PointTable,
        layer: &'a LayerColumn,
        (first, second): (usize, usize),
    ) -> Option<Self> {
        let rows = [table.row[first], table.row[second]];
        let id = |at: usize| {
            let id = table.id.as_ref().and_then(|ids| ids.get(at));
            id.filter(|id| !id.is_empty())
        };
        // Two names at one place are two samples, one of which may have the wrong coordinates.
        let name = match (id(first), id(second)) {
            (Some(one), Some(other)) if one != other => {
                Some(format!("the place of cores {one} and {other}"))
            }
            (_, own) => own.map(|own| format!("core {own}")),
        };
        let found = Self {
            key: &layer.key,
            unit: &layer.unit,
            name: name.unwrap_or_else(|| "one place".to_owned()),
            rows,
            values: [layer.values[first], layer.values[second]],
        };
        (found.apart() >= 1.0).then_some(found)
    }

    /// The difference as a multiple of that from which two results conflict.
    fn apart(&self) -> f64 {
        let [one, other] = self.values;
        let difference = (one - other).abs();
        let from = &Catalogue::built_in().results_conflict_from;
        let largest = one.abs().max(other.abs());
        if self.unit == "pH" {
            difference / from.ph
        } else if largest > 0.0 {
            difference / largest / from.share_of_the_larger
        } else {
            0.0
        }
    }

    fn words(&self) -> String {
        let [one, other] = self.values.map(|value| significant(value, 3));
        let unit = match self.unit {
            "pH" => String::new(),
            unit => format!(" {unit}"),
        };
        format!(
            "{} has two results of {}, {one}{unit} (row {}) and {other}{unit} (row {})",
            self.name, self.key, self.rows[0], self.rows[1]
        )
    }
}

/// The pairs that conflict, the farthest apart first.
fn remark_on_conflicts(mut conflicts: Vec<Conflict<'_>>, context: &mut Context<'_>) {
    conflicts.sort_by(|a, b| {
        let by_distance = b.apart().total_cmp(&a.apart());
        by_distance.then_with(|| (a.rows, a.key).cmp(&(b.rows, b.key)))
    });
    let mut told: Vec<String> = Vec::new();
    told.extend(conflicts.iter().take(MOST_CONFLICTS).map(Conflict::words));
    if conflicts.len() > MOST_CONFLICTS {
        told.push(format!("{} more pairs", conflicts.len() - MOST_CONFLICTS));
    }
    if !told.is_empty() {
        let what = format!(
            "{}: they conflict, they lie farther apart than two tests of one sample; the map takes them together",
            told.join("; ")
        );
        context.remarks.push(
            Remark::warning("results-conflict", what)
                .at(context.place())
                .help("look at the laboratory's sheet: correct the one that was mistyped, or leave out the one that is not of this place; where two cores stand at one place, check their coordinates"),
        );
    }
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
