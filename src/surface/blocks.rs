//! Places so near to each other that they say one thing of the field: pairs and heaps of cores. What is shuffled in a test for
//! structure is then the block, not the core.

use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;

use super::left_out::LeftOut;
use super::sites::Sites;
use crate::field::Heaps;

/// Means of blocks change places among blocks of about their size, since larger ones scatter less.
const SIZES: [usize; 4] = [2, 3, 6, 12];

/// The blocks of the places that are left out.
pub(super) struct Blocks {
    /// Positions of the places of each block.
    members: Vec<Vec<usize>>,
    /// Blocks of about the same size.
    alike: Vec<Vec<usize>>,
    /// Whether the places stand in clusters.
    pub is_clustered: bool,
}

impl Blocks {
    /// The heaps of the places that are left out. `cells` are squared distances of cells of the map to their nearest place. `None` where
    /// every place stands for itself.
    pub(super) fn of(left_out: &LeftOut, sites: &Sites, cells: &[f64]) -> Option<Self> {
        let at = |site: &u32| (sites.x[*site as usize], sites.y[*site as usize]);
        let places: Vec<(f64, f64)> = left_out.sites.iter().map(at).collect();
        Self::new(&Heaps::of(&places, cells))
    }

    fn new(heaps: &Heaps) -> Option<Self> {
        let members = heaps.members().to_vec();
        let class = |block: &Vec<usize>| SIZES.partition_point(|size| *size <= block.len());
        let mut alike = vec![Vec::new(); SIZES.len() + 1];
        for (block, own) in members.iter().enumerate() {
            alike[class(own)].push(block);
        }
        (!heaps.are_none()).then_some(Self {
            members,
            alike,
            is_clustered: heaps.are_many(),
        })
    }

    /// The values of the places, where the means of blocks have changed places with one another, and what each place differs from its
    /// block's mean with what others do. So twins stay as alike as they were, and all else is left to chance.
    pub(super) fn shuffled(&self, values: &[f64], random: &mut ChaCha8Rng) -> Vec<f64> {
        let mean = |block: &Vec<usize>| {
            block.iter().map(|&place| values[place]).sum::<f64>() / block.len() as f64
        };
        let own: Vec<f64> = self.members.iter().map(mean).collect();
        let mut means = own.clone();
        for alike in &self.alike {
            let mut order = alike.clone();
            order.shuffle(random);
            for (&to, &from) in alike.iter().zip(&order) {
                means[to] = own[from];
            }
        }
        let mut differences = self.differences(values, &own);
        differences.shuffle(random);
        let mut made = vec![0.0; values.len()];
        let mut left = differences.as_slice();
        for (block, mean) in self.members.iter().zip(means) {
            let size = if block.len() > 1 { block.len() } else { 0 };
            let (here, rest) = left.split_at(size);
            left = rest;
            let off = here.iter().sum::<f64>() / size.max(1) as f64;
            for (at, &place) in block.iter().enumerate() {
                made[place] = mean + here.get(at).map_or(0.0, |difference| difference - off);
            }
        }
        made
    }

    /// What the places of blocks differ from their means, brought to what they would scatter without having made the mean.
    fn differences(&self, values: &[f64], means: &[f64]) -> Vec<f64> {
        let blocks = self.members.iter().zip(means);
        let of_block = |(block, mean): (&Vec<usize>, &f64)| -> Vec<f64> {
            let size = block.len() as f64;
            let scale = (size / (size - 1.0)).sqrt();
            block
                .iter()
                .map(|&place| (values[place] - mean) * scale)
                .collect()
        };
        blocks
            .filter(|(block, _)| block.len() > 1)
            .flat_map(of_block)
            .collect()
    }
}

#[cfg(test)]
#[path = "blocks_tests.rs"]
mod tests;
