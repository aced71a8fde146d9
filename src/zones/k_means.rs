//! k-means: cells are put into the cluster whose centre is nearest, and centres moved to the mean of their cells, until
//! nothing changes.
//!
//! Many starts are run on a sample that is spread over the field; the best one goes on with all cells. All sums
//! run over fixed chunks and are joined in their order, so that the number of threads changes nothing.

use rayon::prelude::*;

use super::numbering::by_first_component;
use super::seeding::{generator, spread_centres, spread_sample};
use super::standardise::Features;

/// Starts, and how many of them run to their end. On the open field only 1 of 50 plain starts reached the best of six clusters; with these
/// every seed tried did.
const STARTS: (u64, usize) = (100, 20);
/// The same where a sample stands for the field. On 13 made fields, for 2 to 8 clusters and three seeds, 258 of 273 answers were within
/// 0.1 % of the best known sum of squares and all within 1.4 %; a hundred starts did no better.
const STARTS_ON_SAMPLE: (u64, usize) = (32, 8);
/// Passes that every start gets.
const FIRST_PASSES: usize = 8;
/// Cells that the starts run on (own: half as many left 36 of the 273 answers farther than 0.1 % from the best).
const SAMPLE: usize = 2048;
/// Cells per chunk of the parallel passes.
const CHUNK: usize = 16_384;
/// Cells that are held in registers and first cache while their nearest centre is sought.
const BLOCK: usize = 256;
/// Passes at most; smooth maps settle in 10 to 60.
const PASSES: usize = 300;
/// A pass over all cells that moves fewer than one in this many ends the work; below that many cells none may move.
const SETTLED: usize = 10_000;

/// Clusters of cells.
#[derive(Debug, Clone, PartialEq)]
pub struct Clusters {
    /// Centres in the space of the features, cluster by cluster.
    pub centres: Vec<Vec<f64>>,
    /// Cluster of each cell.
    pub labels: Vec<u8>,
    /// Cells of each cluster.
    pub sizes: Vec<usize>,
    /// Sum of squared distances of the cells to their centre.
    pub inertia: f64,
}

/// At most `count` clusters (fewer where fewer cells differ), best of many seeded starts, in the order of their place along
/// the line on which their centres differ most.
///
/// # Source
/// Lloyd 1982, "Least squares quantization in PCM", IEEE Transactions on Information Theory 28:129.
#[must_use]
pub fn k_means(features: &Features, count: usize, seed: u64) -> Clusters {
    let sample = features.sample(&spread_sample(features.cells(), SAMPLE, seed));
    let starts = if sample.cells() < features.cells() { STARTS_ON_SAMPLE } else { STARTS };
    let start = best_start(&sample, count.clamp(1, 254), starts, seed);
    refine(features, start)
}

/// The same on a sample that stands for a field, where an answer near the best will do.
pub(super) fn k_means_of_sample(sample: &Features, count: usize, seed: u64) -> Clusters {
    let start = best_start(sample, count.clamp(1, 254), STARTS_ON_SAMPLE, seed);
    refine(sample, start)
}

/// Centres (row-major) of the best start on a small table. All starts run a few passes, the better ones to their end.
fn best_start(sample: &Features, count: usize, (starts, finalists): (u64, usize), seed: u64) -> Vec<f32> {
    if sample.cells() == 0 {
        return Vec::new();
    }
    let begin = |start: u64| {
        let mut work = Lloyd::new(sample, spread_centres(sample, count, &mut generator(seed, start)));
        work.settle(sample, FIRST_PASSES, false);
        (work.inertia(sample), start, work.centres)
    };
    let mut firsts: Vec<(f64, u64, Vec<f32>)> = (0..starts).into_par_iter().map(begin).collect();
    firsts.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    firsts.truncate(finalists);
    let end = |(_, _, centres): (f64, u64, Vec<f32>)| {
        let mut work = Lloyd::new(sample, centres);
        work.settle(sample, PASSES, false);
        (work.inertia(sample), work.centres)
    };
    let ends: Vec<(f64, Vec<f32>)> = firsts.into_par_iter().map(end).collect();
    // The first of equal ones, so that the answer does not hang on the order in which threads end.
    ends.into_iter().reduce(|best, next| if next.0 < best.0 { next } else { best }).map(|(_, centres)| centres).unwrap_or_default()
}

/// The clusters that a start leads to on all cells.
fn refine(features: &Features, start: Vec<f32>) -> Clusters {
    let mut work = Lloyd::new(features, start);
    work.settle(features, PASSES, true);
    let inertia = work.inertia(features);
    work.into_clusters(inertia)
}

/// Each cell to its nearest centre, once; the centres stay where they are.
#[must_use]
pub fn nearest_centres(features: &Features, centres: &[Vec<f64>]) -> Clusters {
    let flat = centres.iter().flatten().map(|&c| c as f32).collect();
    let mut work = Lloyd::new(features, flat);
    work.pass(features, true);
    let inertia = work.inertia(features);
    let found = work.into_clusters(inertia);
    Clusters { centres: centres.to_vec(), ..found }
}

struct Lloyd {
    /// Row-major, cluster x layer.
    centres: Vec<f32>,
    labels: Vec<u8>,
    sums: Vec<f64>,
    sizes: Vec<i64>,
    layers: usize,
}

/// What a chunk's pass changed.
struct Change {
    moved: usize,
    sums: Vec<f64>,
    sizes: Vec<i64>,
}

const NOWHERE: u8 = u8::MAX;

impl Lloyd {
    fn new(features: &Features, centres: Vec<f32>) -> Self {
        let layers = features.layers();
        let clusters = centres.len() / layers.max(1);
        let (labels, sums, sizes) = (vec![NOWHERE; features.cells()], vec![0.0; centres.len()], vec![0; clusters]);
        Self { centres, labels, sums, sizes, layers }
    }

    fn settle(&mut self, features: &Features, passes: usize, is_parallel: bool) {
        for _ in 0..passes {
            let moved = self.pass(features, is_parallel);
            if moved == 0 || moved < features.cells() / SETTLED {
                break;
            }
            self.move_centres();
        }
    }

    /// Puts each cell into its nearest cluster and keeps the sums; how many cells moved.
    fn pass(&mut self, features: &Features, is_parallel: bool) -> usize {
        let (centres, layers) = (&self.centres, self.layers);
        let chunk = |(index, labels): (usize, &mut [u8])| assign(features, index * CHUNK, centres, layers, labels);
        let changes: Vec<Change> = if is_parallel {
            self.labels.par_chunks_mut(CHUNK).enumerate().map(chunk).collect()
        } else {
            self.labels.chunks_mut(CHUNK).enumerate().map(chunk).collect()
        };
        for change in &changes {
            self.sums.iter_mut().zip(&change.sums).for_each(|(sum, more)| *sum += more);
            self.sizes.iter_mut().zip(&change.sizes).for_each(|(size, more)| *size += more);
        }
        changes.iter().map(|change| change.moved).sum()
    }

    /// A cluster that lost all its cells stays where it is.
    fn move_centres(&mut self) {
        for (cluster, &size) in self.sizes.iter().enumerate().filter(|(_, size)| **size > 0) {
            for layer in 0..self.layers {
                let at = cluster * self.layers + layer;
                self.centres[at] = (self.sums[at] / size as f64) as f32;
            }
        }
    }

    /// Sum of squared distances to the exact means of the clusters, in double precision.
    fn inertia(&self, features: &Features) -> f64 {
        let means: Vec<f64> = self.sums.iter().enumerate().map(|(at, sum)| sum / self.sizes[at / self.layers].max(1) as f64).collect();
        let of_chunk = |(index, labels): (usize, &[u8])| -> f64 {
            let from = index * CHUNK;
            (0..self.layers)
                .map(|layer| {
                    let column = &features.column(layer)[from..from + labels.len()];
                    let term = |(&value, &label): (&f32, &u8)| (f64::from(value) - means[label as usize * self.layers + layer]).powi(2);
                    column.iter().zip(labels).map(term).sum::<f64>()
                })
                .sum()
        };
        let sums: Vec<f64> = if self.labels.len() > CHUNK {
            self.labels.par_chunks(CHUNK).enumerate().map(of_chunk).collect()
        } else {
            self.labels.chunks(CHUNK).enumerate().map(of_chunk).collect()
        };
        sums.iter().sum()
    }

    /// Drops empty clusters and puts the others into their lasting order.
    fn into_clusters(self, inertia: f64) -> Clusters {
        let filled: Vec<usize> = (0..self.sizes.len()).filter(|&cluster| self.sizes[cluster] > 0).collect();
        let mean = |cluster: usize| -> Vec<f64> {
            let sums = &self.sums[cluster * self.layers..(cluster + 1) * self.layers];
            sums.iter().map(|sum| sum / self.sizes[cluster] as f64).collect()
        };
        let centres: Vec<Vec<f64>> = filled.iter().map(|&cluster| mean(cluster)).collect();
        let sizes: Vec<usize> = filled.iter().map(|&cluster| self.sizes[cluster] as usize).collect();
        let order = by_first_component(&centres, &sizes);
        let mut new_label = vec![0_u8; self.sizes.len()];
        for (place, &old) in order.iter().enumerate() {
            new_label[filled[old]] = place as u8;
        }
        let labels = self.labels.iter().map(|&label| new_label[label as usize]).collect();
        Clusters {
            centres: order.iter().map(|&old| centres[old].clone()).collect(),
            labels,
            sizes: order.iter().map(|&old| sizes[old]).collect(),
            inertia,
        }
    }
}

fn assign(features: &Features, from: usize, centres: &[f32], layers: usize, labels: &mut [u8]) -> Change {
    let clusters = centres.len() / layers.max(1);
    let mut change = Change { moved: 0, sums: vec![0.0; centres.len()], sizes: vec![0; clusters] };
    for (block, labels) in labels.chunks_mut(BLOCK).enumerate() {
        let first = from + block * BLOCK;
        let nearest = nearest_of_block(features, first, labels.len(), centres, layers);
        for (offset, (label, &new)) in labels.iter_mut().zip(&nearest).enumerate() {
            let (old, new) = (*label, new as u8);
            if old != new {
                *label = new;
                change.moved += 1;
                change.shift(features, first + offset, old, -1);
                change.shift(features, first + offset, new, 1);
            }
        }
    }
    change
}

impl Change {
    fn shift(&mut self, features: &Features, cell: usize, cluster: u8, by: i64) {
        if cluster == NOWHERE {
            return;
        }
        let layers = features.layers();
        self.sizes[cluster as usize] += by;
        for layer in 0..layers {
            self.sums[cluster as usize * layers + layer] += by as f64 * f64::from(features.column(layer)[cell]);
        }
    }
}

/// Nearest centre of each cell of a block; the first of equally near ones.
fn nearest_of_block(features: &Features, first: usize, length: usize, centres: &[f32], layers: usize) -> [u32; BLOCK] {
    let mut best = [f32::INFINITY; BLOCK];
    let mut nearest = [0_u32; BLOCK];
    for (cluster, centre) in centres.chunks_exact(layers.max(1)).enumerate() {
        let mut distance = [0.0_f32; BLOCK];
        for (layer, &middle) in centre.iter().enumerate() {
            let column = &features.column(layer)[first..first + length];
            for (sum, &value) in distance.iter_mut().zip(column) {
                *sum += (value - middle) * (value - middle);
            }
        }
        for ((best, nearest), &distance) in best.iter_mut().zip(nearest.iter_mut()).zip(&distance) {
            let is_nearer = distance < *best;
            *best = if is_nearer { distance } else { *best };
            *nearest = if is_nearer { cluster as u32 } else { *nearest };
        }
    }
    nearest
}
