//! Which neighbours a place that is left out must do without, so that it stands as far from the others as the cells of the
//! map do. Cores in clusters would otherwise vouch for each other.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::neighbours::Neighbour;

/// A place keeps at least this share of the others (the article's `min_train`).
const LEAST_KEPT: f64 = 0.5;

/// How many of its nearest each place does without. `near` are the neighbours of each place by rising distance, `others` how
/// many other places there are, `cells` the squared distances of cells of the map to their nearest place.
///
/// # Source
/// Nearest neighbour distance matching: Milà, C., J. Mateu, E. Pebesma and H. Meyer. 2022. Nearest neighbour distance matching
/// leave-one-out cross-validation for map validation. Methods in Ecology and Evolution 13:1304-1316; held to an independent
/// script in `tests/reference/interpolation`.
pub(super) fn skips(near: &[&[Neighbour]], others: usize, mut cells: Vec<f64>) -> Vec<usize> {
    let mut skips = vec![0; near.len()];
    cells.sort_unstable_by(f64::total_cmp);
    if cells.is_empty() {
        return skips;
    }
    let most = ((1.0 - LEAST_KEPT) * others as f64) as usize;
    let mut waiting: BinaryHeap<Reverse<(Distance, usize)>> = near
        .iter()
        .enumerate()
        .filter_map(|(place, near)| Some(Reverse((Distance(near.first()?.squared), place))))
        .collect();
    let (places, all_cells) = (near.len() as f64, cells.len() as f64);
    let mut settled = 0;
    while let Some(&Reverse((Distance(squared), _))) = waiting.peek() {
        let mut tied = Vec::new();
        while let Some(&Reverse((Distance(next), place))) = waiting.peek() {
            if next > squared {
                break;
            }
            waiting.pop();
            tied.push(place);
        }
        let reached = cells.partition_point(|cell| *cell <= squared) as f64 / all_cells;
        let others_as_near = (settled + tied.len() - 1) as f64 / places;
        let place = tied[0];
        let next = near[place].get(skips[place] + 1);
        match next.filter(|_| others_as_near >= reached && skips[place] < most) {
            Some(next) => {
                skips[place] += 1;
                waiting.push(Reverse((Distance(next.squared), place)));
                let rest = tied[1..].iter();
                waiting.extend(rest.map(|&place| Reverse((Distance(squared), place))));
            }
            None => settled += tied.len(),
        }
    }
    skips
}

/// A squared distance that can be put in order.
#[derive(PartialEq)]
struct Distance(f64);

impl Eq for Distance {}

impl PartialOrd for Distance {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Distance {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

#[cfg(test)]
#[path = "matching_tests.rs"]
mod tests;
