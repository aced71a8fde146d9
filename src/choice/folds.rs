//! Cores in folds of neighbours: they are halved across their longer side until there are enough folds.

use std::cmp::Ordering;

/// Folds at most: with 60 cores each holds two or three. Larger folds take a whole corner of the field away and judge a map that
/// nobody draws (own).
const MOST_FOLDS: usize = 24;
/// Fewest cores of a fold.
const LEAST: usize = 2;

/// The fold of each place; folds differ by at most one place where that is possible.
#[must_use]
pub fn folds(places: &[(f64, f64)]) -> Vec<usize> {
    let wanted = (places.len() / LEAST).clamp(1, MOST_FOLDS);
    let mut fold = vec![0; places.len()];
    let mut next = 0;
    halve(
        places,
        (0..places.len()).collect(),
        wanted,
        &mut next,
        &mut fold,
    );
    fold
}

/// A line of sight so little aslant that only places in one row change their order by it (own).
const ASLANT: f64 = 0.01;

/// The order of two places along the first number. Places of one row on a grid stand alike but for millimetres, which change as soon as
/// the whole field is moved: they go by the second number.
pub(super) fn in_order(a: (f64, f64), b: (f64, f64)) -> Ordering {
    let along = |p: (f64, f64)| p.0 + ASLANT * p.1;
    along(a).total_cmp(&along(b)).then(a.1.total_cmp(&b.1))
}

/// Folds numbered without a gap.
pub(super) fn closed_up(fold: &[usize]) -> Vec<usize> {
    let mut kept = fold.to_vec();
    kept.sort_unstable();
    kept.dedup();
    fold.iter()
        .map(|own| kept.binary_search(own).unwrap_or(0))
        .collect()
}

fn halve(
    places: &[(f64, f64)],
    mut members: Vec<usize>,
    wanted: usize,
    next: &mut usize,
    fold: &mut [usize],
) {
    if wanted < 2 {
        for member in members {
            fold[member] = *next;
        }
        *next += 1;
        return;
    }
    let span = |of: fn(&(f64, f64)) -> f64| {
        let ends = members.iter().map(|&m| of(&places[m]));
        let (low, high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(v), h.max(v))
        });
        high - low
    };
    let (east, north) = (|p: &(f64, f64)| p.0, |p: &(f64, f64)| p.1);
    // A square is cut across its east side, also where it is a square but for a few millimetres.
    let is_wide = span(east) * (1.0 + ASLANT) >= span(north);
    let along = |p: (f64, f64)| if is_wide { p } else { (p.1, p.0) };
    // By place, so that the order of rows changes nothing.
    members.sort_by(|&a, &b| in_order(along(places[a]), along(places[b])));
    let low = wanted / 2;
    let high = members.split_off(members.len() * low / wanted);
    halve(places, members, low, next, fold);
    halve(places, high, wanted - low, next, fold);
}
