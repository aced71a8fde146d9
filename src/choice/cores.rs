//! The cores that zonings are compared with.

use std::collections::BTreeMap;

use crate::analyte::Analyte;
use crate::field::Field;

/// Most cores that zonings are compared with; of more, so many spread over the field.
const MOST: usize = 100;

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
    found.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.total_cmp(&b.0)));
    found.dedup();
    let n = found.len();
    if n > MOST {
        found = (0..MOST)
            .map(|i| found[(2 * i + 1) * n / (2 * MOST)])
            .collect();
    }
    found
}

/// Mean distance to the nearest other place, as a share of what chance would give, under which cores count as standing in clusters: then
/// a core that is left out has a twin that is not, and what is tested on it looks too sure. Own, from simulated fields.
const CLUSTERED: f64 = 0.6;

/// Whether places stand in clusters or pairs.
///
/// # Source
/// Clark, P.J. and Evans, F.C. 1954. Distance to nearest neighbor as a measure of spatial relationships in populations. Ecology
/// 35:445-453: the mean distance over `0.5 / sqrt(density)`, 1 by chance, 2 on a square grid.
pub(super) fn are_clustered(places: &[(f64, f64)], area_m2: f64) -> bool {
    let nearest = |at: usize| {
        let (x, y) = places[at];
        let others = places.iter().enumerate().filter(|(other, _)| *other != at);
        others
            .map(|(_, (east, north))| (east - x).hypot(north - y))
            .fold(f64::INFINITY, f64::min)
    };
    let count = places.len() as f64;
    let mean = (0..places.len()).map(nearest).sum::<f64>() / count.max(1.0);
    count >= 2.0 && mean < CLUSTERED * 0.5 * (area_m2 / count).sqrt()
}

#[cfg(test)]
mod tests {
    use super::are_clustered;

    fn grid() -> Vec<(f64, f64)> {
        (0..60)
            .map(|i| (f64::from(i % 10) * 80.0, f64::from(i / 10) * 80.0))
            .collect()
    }

    #[test]
    fn pairs_and_clusters_are_told_from_a_grid() {
        assert!(!are_clustered(&grid(), 400_000.0));
        let pairs: Vec<_> = grid()
            .into_iter()
            .flat_map(|(x, y)| [(x, y), (x + 2.0, y)])
            .collect();
        assert!(are_clustered(&pairs, 400_000.0));
        let heaps: Vec<_> = (0..60)
            .map(|i| {
                (
                    f64::from(i % 5) * 200.0 + f64::from(i / 5) * 4.0,
                    f64::from(i % 3) * 5.0,
                )
            })
            .collect();
        assert!(are_clustered(&heaps, 400_000.0));
        assert!(!are_clustered(&[], 1.0));
    }
}
