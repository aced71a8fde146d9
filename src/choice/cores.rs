//! The cores that zonings are compared with.

use std::collections::BTreeMap;

use super::folds::in_order;
use crate::analyte::Analyte;
use crate::field::{Field, Grid, Heaps};

/// Most cores that zonings are compared with; of more, so many spread over the field.
const MOST: usize = 100;

/// Most places that are put in the order of neighbours before those are picked (own).
const MOST_IN_ORDER: usize = 20_000;

/// Places (metres) of the tables that hold the most layers of soil, from south to north; each place once.
pub(super) fn of(field: &Field) -> Vec<(f64, f64)> {
    let mut layers: BTreeMap<usize, usize> = BTreeMap::new();
    let is_soil = |analyte: &Analyte| !matches!(analyte, Analyte::Covariate(_));
    for layer in field.layers.iter().filter(|l| is_soil(&l.key.analyte)) {
        *layers.entry(layer.places).or_default() += 1;
    }
    let most = layers.values().copied().max().unwrap_or(0);
    let mut found: Vec<(f64, f64)> = Vec::new();
    for (at, _) in layers.iter().filter(|(_, count)| **count == most) {
        let Some(table) = field.places.get(*at) else {
            continue;
        };
        let own = || field.layers.iter().filter(|layer| layer.places == *at);
        for (row, (x, y)) in table.x.iter().zip(&table.y).enumerate() {
            let is_read = own().any(|l| l.values.get(row).is_some_and(|v| v.is_finite()));
            let is_inside = field
                .grid
                .cell_at(*x, *y)
                .and_then(|cell| field.grid.slot(cell));
            if is_read && is_inside.is_some() {
                found.push((*x, *y));
            }
        }
    }
    let from_the_south =
        |a: &(f64, f64), b: &(f64, f64)| a.1.total_cmp(&b.1).then(a.0.total_cmp(&b.0));
    found.sort_by(from_the_south);
    found.dedup();
    // Putting a million readings in order would take longer than all that follows.
    found = every_so_many(found, MOST_IN_ORDER);
    let n = found.len();
    if n > MOST {
        let order = in_order(&found);
        let mut kept: Vec<(f64, f64)> = (0..MOST)
            .map(|i| found[order[(2 * i + 1) * n / (2 * MOST)]])
            .collect();
        kept.sort_by(from_the_south);
        found = kept;
    }
    found
}

/// Some of rising places, spread evenly over them.
fn every_so_many(places: Vec<(f64, f64)>, most: usize) -> Vec<(f64, f64)> {
    let all = places.len();
    if all <= most {
        return places;
    }
    (0..most).map(|at| places[at * all / most]).collect()
}

/// Whether places stand in clusters or pairs, on the cells of a field in small.
pub(super) fn are_clustered(places: &[(f64, f64)], grid: &Grid) -> bool {
    let to_nearest = |cell: &u32| {
        let (x, y) = grid.centre(*cell);
        let off = |(east, north): &(f64, f64)| (east - x).powi(2) + (north - y).powi(2);
        places.iter().map(off).fold(f64::INFINITY, f64::min)
    };
    let cells: Vec<f64> = grid.cells.iter().map(to_nearest).collect();
    Heaps::of(places, &cells).are_many()
}
