//! Cores in pairs and heaps: places so near to each other that they say one thing of the field.

use crate::order_statistics::median;

/// Places nearer than this share of the median distance from the field's cells to their nearest place are one heap (own). Of places
/// strewn at random 16 % stand so near to another: `1 - 2^(-1/4)`.
const ONE_HEAP: f64 = 0.5;
/// From this share of the places in heaps on, they stand in clusters: twice what chance gives (own).
const MANY: f64 = 1.0 / 3.0;

/// Places, joined through their neighbours.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heaps {
    members: Vec<Vec<usize>>,
    places: usize,
}

impl Heaps {
    /// Of places (metres); `cells` are squared distances of cells of the field to their nearest place.
    #[must_use]
    pub fn of(places: &[(f64, f64)], cells: &[f64]) -> Self {
        let median = median(&mut cells.to_vec()).unwrap_or(0.0);
        Self::within(places, median * ONE_HEAP * ONE_HEAP)
    }

    /// Joins places that are no farther from each other than the root of a squared distance.
    #[must_use]
    pub fn within(places: &[(f64, f64)], reach_squared: f64) -> Self {
        let mut members: Vec<Vec<usize>> = Vec::new();
        let mut waiting: Vec<usize> = (0..places.len()).rev().collect();
        while let Some(first) = waiting.pop() {
            let mut heap = vec![first];
            let mut looked = 0;
            while let Some(&from) = heap.get(looked) {
                let (x, y) = places[from];
                let is_near = |&other: &usize| {
                    let (east, north) = places[other];
                    (east - x).powi(2) + (north - y).powi(2) <= reach_squared
                };
                heap.extend(waiting.extract_if(.., |other| is_near(other)));
                looked += 1;
            }
            members.push(heap);
        }
        Self {
            members,
            places: places.len(),
        }
    }

    /// Positions of the places of each heap; a place that stands for itself is a heap of one.
    #[must_use]
    pub fn members(&self) -> &[Vec<usize>] {
        &self.members
    }

    /// Whether every place stands for itself.
    #[must_use]
    pub fn are_none(&self) -> bool {
        self.members.len() == self.places
    }

    /// Whether the places stand in clusters: a core that is left out has a twin that is not, and what is tested on it looks too sure.
    #[must_use]
    pub fn are_many(&self) -> bool {
        let in_heaps = self.members.iter().filter(|heap| heap.len() > 1);
        let together = in_heaps.map(Vec::len).sum::<usize>() as f64;
        self.places > 1 && together >= MANY * self.places as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_joined_through_their_neighbours() {
        let at = |x: &[f64]| x.iter().map(|x| (*x, 0.0)).collect::<Vec<_>>();
        let heaps = Heaps::within(&at(&[0.0, 1.0, 50.0, 51.0, 51.9, 100.0]), 1.0);
        assert_eq!(heaps.members(), [vec![0, 1], vec![2, 3, 4], vec![5]]);
        assert!(!heaps.are_none());
        assert!(Heaps::within(&at(&[0.0, 2.0, 4.0]), 1.0).are_none());
    }

    /// Ten by six places, and the squared distances of cells of 20 m to them.
    fn field(places: &[(f64, f64)]) -> Heaps {
        let cells: Vec<f64> = (0..40 * 24)
            .map(|i| {
                let cell = (f64::from(i % 40) * 20.0, f64::from(i / 40) * 20.0);
                let off = |p: &(f64, f64)| (p.0 - cell.0).powi(2) + (p.1 - cell.1).powi(2);
                places.iter().map(off).fold(f64::INFINITY, f64::min)
            })
            .collect();
        Heaps::of(places, &cells)
    }

    #[test]
    fn pairs_and_clusters_are_told_from_a_grid() {
        let grid: Vec<(f64, f64)> = (0..60)
            .map(|i| (f64::from(i % 10) * 80.0, f64::from(i / 10) * 80.0))
            .collect();
        assert!(field(&grid).are_none() && !field(&grid).are_many());
        let pairs = grid.iter().flat_map(|&(x, y)| [(x, y), (x + 2.0, y)]);
        assert!(field(&pairs.collect::<Vec<_>>()).are_many());
        let one_pair: Vec<_> = grid.iter().copied().chain([(2.0, 0.0)]).collect();
        assert!(!field(&one_pair).are_none() && !field(&one_pair).are_many());
        let heaps: Vec<_> = (0..60)
            .map(|i| {
                let heap = (f64::from(i % 5) * 200.0, f64::from(i % 3) * 150.0);
                (heap.0 + f64::from(i / 15) * 4.0, heap.1)
            })
            .collect();
        assert!(field(&heaps).are_many());
        assert!(!Heaps::of(&[], &[]).are_many());
    }
}
