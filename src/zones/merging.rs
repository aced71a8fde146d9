//! Patches that are too small are given to the neighbour they resemble most.
//!
//! The same rule serves cells (before the outlines are drawn) and faces of the finished drawing (after the outline of the
//! field has cut them).

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

use super::union_find::UnionFind;

/// A connected piece of one zone.
#[derive(Debug, Clone)]
pub(super) struct Patch {
    pub label: u8,
    /// Square metres.
    pub area: f64,
    /// Mean of the features over the patch.
    pub profile: Vec<f64>,
    /// Too thin to be drawn, whatever its area: goes to the neighbour with the longest common edge.
    pub is_sliver: bool,
    /// Length of the common edge with each neighbouring patch.
    pub borders: BTreeMap<u32, f64>,
}

/// Patches after merging: `label_of` gives each its zone.
pub(super) struct Merging<'a> {
    patches: Vec<Patch>,
    groups: UnionFind,
    smallest: f64,
    centres: &'a [Vec<f64>],
}

impl<'a> Merging<'a> {
    /// Merges every patch below `smallest` square metres, the smallest first, until none is left that has a neighbour.
    pub fn run(patches: Vec<Patch>, smallest: f64, centres: &'a [Vec<f64>]) -> Self {
        let groups = UnionFind::new(patches.len());
        let mut work = Self {
            patches,
            groups,
            smallest,
            centres,
        };
        let mut queue: BinaryHeap<Reverse<(u64, u32)>> = (0..work.patches.len() as u32)
            .filter(|&p| work.is_small(p))
            .map(|p| Reverse((order(work.patches[p as usize].area), p)))
            .collect();
        while let Some(Reverse((area, patch))) = queue.pop() {
            let is_current = work.groups.root(patch) == patch
                && order(work.patches[patch as usize].area) == area;
            if !is_current || !work.is_small(patch) {
                continue;
            }
            let Some(label) = work.best_neighbour(patch) else {
                continue;
            };
            let root = work.join(patch, label);
            if work.is_small(root) {
                queue.push(Reverse((order(work.patches[root as usize].area), root)));
            }
        }
        work
    }

    /// The zone that a patch ended in.
    pub fn label_of(&mut self, patch: u32) -> u8 {
        let root = self.groups.root(patch);
        self.patches[root as usize].label
    }

    fn is_small(&self, patch: u32) -> bool {
        let patch = &self.patches[patch as usize];
        patch.is_sliver || patch.area < self.smallest
    }

    /// The neighbour's label that suits best; equal ones by the longer edge, then by the lower label.
    fn best_neighbour(&self, patch: u32) -> Option<u8> {
        let here = &self.patches[patch as usize];
        let mut edges: BTreeMap<u8, f64> = BTreeMap::new();
        for (&other, &length) in &here.borders {
            *edges.entry(self.patches[other as usize].label).or_default() += length;
        }
        let cost = |label: u8, length: f64| {
            if here.is_sliver {
                -length
            } else {
                self.distance(&here.profile, label)
            }
        };
        edges
            .into_iter()
            .min_by(|a, b| {
                cost(a.0, a.1)
                    .total_cmp(&cost(b.0, b.1))
                    .then(b.1.total_cmp(&a.1))
                    .then(a.0.cmp(&b.0))
            })
            .map(|(label, _)| label)
    }

    fn distance(&self, profile: &[f64], label: u8) -> f64 {
        self.centres
            .get(label as usize)
            .map_or(f64::INFINITY, |centre| {
                centre
                    .iter()
                    .zip(profile)
                    .map(|(a, b)| (a - b) * (a - b))
                    .sum()
            })
    }

    /// Gives a patch to a label and joins it with all its neighbours of that label; the joined patch.
    fn join(&mut self, patch: u32, label: u8) -> u32 {
        self.patches[patch as usize].label = label;
        let alike: Vec<u32> = self.patches[patch as usize]
            .borders
            .keys()
            .copied()
            .filter(|&p| self.patches[p as usize].label == label)
            .collect();
        // The largest takes the others in, so that the fewest borders are rewritten.
        let keeper = alike.iter().copied().max_by(|&a, &b| {
            let (a_borders, b_borders) = (
                self.patches[a as usize].borders.len(),
                self.patches[b as usize].borders.len(),
            );
            a_borders.cmp(&b_borders).then(b.cmp(&a))
        });
        let Some(keeper) = keeper else { return patch };
        for other in alike.into_iter().chain([patch]).filter(|&p| p != keeper) {
            self.absorb(keeper, other);
        }
        keeper
    }

    fn absorb(&mut self, keeper: u32, other: u32) {
        self.groups.put_under(other, keeper);
        let gone = std::mem::take(&mut self.patches[other as usize].borders);
        for (neighbour, length) in gone {
            let theirs = &mut self.patches[neighbour as usize].borders;
            theirs.remove(&other);
            if neighbour != keeper {
                *theirs.entry(keeper).or_default() += length;
                *self.patches[keeper as usize]
                    .borders
                    .entry(neighbour)
                    .or_default() += length;
            }
        }
        let Patch {
            area,
            profile,
            is_sliver,
            ..
        } = self.patches[other as usize].clone();
        let kept = &mut self.patches[keeper as usize];
        kept.borders.remove(&other);
        let whole = kept.area + area;
        if whole > 0.0 {
            kept.profile
                .iter_mut()
                .zip(profile)
                .for_each(|(mine, theirs)| *mine = (*mine * kept.area + theirs * area) / whole);
        }
        kept.area = whole;
        kept.is_sliver &= is_sliver;
    }
}

/// Non-negative doubles sort like their bits.
fn order(area: f64) -> u64 {
    area.max(0.0).to_bits()
}

#[cfg(test)]
#[path = "merging_tests.rs"]
mod merging_tests;
