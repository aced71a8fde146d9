//! Who is near: the only file that names kiddo.

use std::num::NonZero;
use std::sync::OnceLock;

use kiddo::{ImmutableKdTree, SquaredEuclidean};

use super::grid_index::{GridIndex, Nearest, TIE};
use super::sites::Sites;

/// From so many sites on, looking round on the shelves is quicker than building a tree.
const MANY: usize = 4_000;

/// A site and its squared distance, m².
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Neighbour {
    /// Squared distance, m².
    pub squared: f64,
    /// Index into the sites.
    pub site: u32,
}

/// Answers who is near a point. Every answer depends on the set of sites alone.
pub(super) struct Neighbours<'s> {
    sites: &'s Sites,
    tree: OnceLock<Option<ImmutableKdTree<f64, 2>>>,
}

impl<'s> Neighbours<'s> {
    /// Over sites; the tree is built when it is first asked.
    pub(super) fn new(sites: &'s Sites) -> Self {
        Self {
            sites,
            tree: OnceLock::new(),
        }
    }

    /// The sites.
    pub(super) fn sites(&self) -> &'s Sites {
        self.sites
    }

    fn tree(&self) -> Option<&ImmutableKdTree<f64, 2>> {
        self.tree
            .get_or_init(|| {
                let points: Vec<[f64; 2]> = self
                    .sites
                    .x
                    .iter()
                    .zip(&self.sites.y)
                    .map(|(&x, &y)| [x, y])
                    .collect();
                ImmutableKdTree::new_from_slice(&points).ok()
            })
            .as_ref()
    }

    /// Squared distance of the `count`-th nearest site; of the farthest where there are fewer.
    pub(super) fn squared_reach(&self, x: f64, y: f64, count: usize) -> f64 {
        let count = count.min(self.sites.len());
        match (self.tree(), NonZero::new(count)) {
            (Some(tree), Some(wanted)) if count < self.sites.len() => {
                let nearest = tree
                    .query(&[x, y])
                    .nearest_n::<SquaredEuclidean<f64>>(wanted)
                    .execute();
                nearest
                    .iter()
                    .fold(0.0, |far, found| far.max(found.distance))
            }
            _ => f64::INFINITY,
        }
    }

    /// All sites within a squared distance (rim included), by rising site.
    pub(super) fn within(&self, x: f64, y: f64, squared: f64, found: &mut Vec<Neighbour>) {
        found.clear();
        match self.tree() {
            Some(tree) if squared.is_finite() => {
                // The tree's own arithmetic may round a distance the other way than ours.
                let near = tree
                    .query(&[x, y])
                    .within::<SquaredEuclidean<f64>>(squared * (1.0 + 4.0 * f64::EPSILON))
                    .unsorted()
                    .execute();
                found.extend(
                    near.iter()
                        .map(|item| self.neighbour(x, y, item.item))
                        .filter(|n| n.squared <= squared),
                );
            }
            _ => found.extend(
                (0..self.sites.len() as u32)
                    .map(|site| self.neighbour(x, y, site))
                    .filter(|n| n.squared <= squared),
            ),
        }
        found.sort_unstable_by_key(|neighbour| neighbour.site);
    }

    /// The `count` nearest sites and all that tie with the last of them, by rising distance.
    pub(super) fn nearest(&self, x: f64, y: f64, count: usize, found: &mut Vec<Neighbour>) {
        let reach = self.squared_reach(x, y, count);
        self.within(x, y, reach * (1.0 + 2.0 * TIE), found);
        sort_by_distance(found);
    }

    /// For many questions in a row.
    pub(super) fn search(&self, count: usize) -> Search<'_> {
        let shelves = (self.sites.len() >= MANY).then(|| GridIndex::new(self.sites, count));
        Search {
            neighbours: self,
            shelves,
            site: Vec::new(),
            squared: Vec::new(),
        }
    }

    fn neighbour(&self, x: f64, y: f64, site: u32) -> Neighbour {
        let (dx, dy) = (
            self.sites.x[site as usize] - x,
            self.sites.y[site as usize] - y,
        );
        Neighbour {
            squared: dx * dx + dy * dy,
            site,
        }
    }
}

/// Answers many questions in a row, by the shelves where there are many sites and by the tree otherwise. Both give the same.
pub(super) struct Search<'n> {
    neighbours: &'n Neighbours<'n>,
    shelves: Option<GridIndex<'n>>,
    site: Vec<u32>,
    squared: Vec<f64>,
}

impl Search<'_> {
    /// The `count` nearest sites and all that tie with the last of them, by rising distance.
    pub(super) fn nearest(&mut self, x: f64, y: f64, count: usize, found: &mut Vec<Neighbour>) {
        if let Some(shelves) = &mut self.shelves
            && shelves.find(x, y, count, &mut self.site, &mut self.squared) != Nearest::AskTheTree
        {
            found.clear();
            found.extend(
                self.site
                    .iter()
                    .zip(&self.squared)
                    .map(|(&site, &squared)| Neighbour { squared, site }),
            );
            sort_by_distance(found);
            return;
        }
        self.neighbours.nearest(x, y, count, found);
    }
}

/// By rising distance; of equals the lower site first.
pub(super) fn sort_by_distance(found: &mut [Neighbour]) {
    found.sort_unstable_by(|a, b| a.squared.total_cmp(&b.squared).then(a.site.cmp(&b.site)));
}
