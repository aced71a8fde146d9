//! Cores in folds of neighbours: they are halved across their longer side until there are enough folds.

/// Folds at most: with 60 cores each holds two or three. Larger folds take a whole corner of the field away and judge a map that
/// nobody draws (own).
const MOST_FOLDS: usize = 24;
/// Fewest cores of a fold.
const LEAST: usize = 2;

/// Places are parted from south to north only where they span clearly more that way: a square that a metre more or less makes higher than wide is
/// parted the same way (own).
const NEARLY_SQUARE: f64 = 0.85;
/// How far from the middle a cut may lie, as a share of the places (own).
const ROOM: f64 = 0.2;

/// The fold of each place; where the places are cut, they stand apart, so that a metre changes no fold.
#[must_use]
pub fn folds(places: &[(f64, f64)]) -> Vec<usize> {
    parts(places, (places.len() / LEAST).clamp(1, MOST_FOLDS))
}

/// Parts of a jackknife: a tenth of the cores each.
const TENTHS: usize = 10;

/// Two partings of places into tenths, each tenth spread over all: twenty times a tenth of them can be left out. Nothing is drawn at random, so that
/// neither a seed nor a metre changes it (own).
#[must_use]
pub fn tenths(places: &[(f64, f64)]) -> [Vec<usize>; 2] {
    let parts = TENTHS.min(places.len()).max(1);
    let mut partings = [vec![0; places.len()], vec![0; places.len()]];
    for (position, at) in in_order(places).into_iter().enumerate() {
        partings[0][at] = position % parts;
        partings[1][at] = (3 * position + position / parts) % parts;
    }
    partings
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

/// Places by the parts that they fall into, neighbours one after the other.
pub(super) fn in_order(places: &[(f64, f64)]) -> Vec<usize> {
    let part = parts(places, places.len());
    let mut order: Vec<usize> = (0..places.len()).collect();
    order.sort_by_key(|&at| part[at]);
    order
}

/// The part of each place, where they are halved until there are so many parts.
fn parts(places: &[(f64, f64)], wanted: usize) -> Vec<usize> {
    let mut part = vec![0; places.len()];
    let mut next = 0;
    let all = (0..places.len()).collect();
    halve(places, all, wanted, &mut next, &mut part);
    part
}

fn halve(
    places: &[(f64, f64)],
    mut members: Vec<usize>,
    wanted: usize,
    next: &mut usize,
    part: &mut [usize],
) {
    if wanted < 2 || members.len() < 2 {
        for member in members {
            part[member] = *next;
        }
        *next += 1;
        return;
    }
    let (east, north) = (|p: &(f64, f64)| p.0, |p: &(f64, f64)| p.1);
    let span = |of: fn(&(f64, f64)) -> f64| {
        let ends = members.iter().map(|&m| of(&places[m]));
        let (low, high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
            (l.min(v), h.max(v))
        });
        high - low
    };
    let is_wide = span(east) >= NEARLY_SQUARE * span(north);
    let along = |p: (f64, f64)| if is_wide { (p.0, p.1) } else { (p.1, p.0) };
    // By place, so that the order of rows changes nothing.
    members.sort_by(|&a, &b| {
        let (a, b) = (along(places[a]), along(places[b]));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    let at: Vec<f64> = members.iter().map(|&m| along(places[m]).0).collect();
    let middle = members.len() as f64 * (wanted / 2) as f64 / wanted as f64;
    let cut = clear_cut(&at, middle);
    let low = (wanted as f64 * cut as f64 / members.len() as f64).round() as usize;
    let low = low.clamp(1, wanted - 1);
    let high = members.split_off(cut);
    halve(places, members, low, next, part);
    halve(places, high, wanted - low, next, part);
}

/// Where rising numbers are cut: near a position, and where the gap is wide, so that small moves of the places leave the cut where it is.
fn clear_cut(at: &[f64], middle: f64) -> usize {
    let room = (at.len() as f64 * ROOM).max(1.0);
    let near = |cut: &usize| (*cut as f64 - middle).abs() <= room;
    let cuts: Vec<usize> = (1..at.len()).filter(near).collect();
    let gap = |cut: usize| at[cut] - at[cut - 1];
    let widest = cuts.iter().map(|&cut| gap(cut)).fold(0.0, f64::max);
    let is_wide = |cut: &&usize| gap(**cut) >= 0.5 * widest;
    let off = |cut: &&usize| (**cut as f64 - middle).abs();
    let nearest = cuts
        .iter()
        .filter(is_wide)
        .min_by(|a, b| off(a).total_cmp(&off(b)));
    nearest.copied().unwrap_or(1)
}
