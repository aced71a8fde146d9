//! Cores in folds of neighbours: they are halved across their longer side until there are enough folds.

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
    let is_wide = span(east) >= span(north);
    let along = |p: (f64, f64)| if is_wide { (p.0, p.1) } else { (p.1, p.0) };
    // By place, so that the order of rows changes nothing.
    members.sort_by(|&a, &b| {
        let (a, b) = (along(places[a]), along(places[b]));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    let low = wanted / 2;
    let high = members.split_off(members.len() * low / wanted);
    halve(places, members, low, next, fold);
    halve(places, high, wanted - low, next, fold);
}
