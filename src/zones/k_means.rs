//! k-means: cells are put into the cluster whose centre is nearest, and centres moved to the mean of their cells, until
//! nothing changes.
//!
//! Many starts are run on a sample that is spread over the field; the best one goes on with all cells. All sums
//! run over fixed chunks and are joined in their order, so that the number of threads changes nothing.
//!
//! Cells side by side are much alike, and most of them lie far from the border between two clusters. So each group of cells
//! remembers how far the centres may move before any of its cells could change hands, and is passed over until then. The
//! clusters are those of the plain way, to the last bit.

use rayon::prelude::*;

use super::kmeans_plus_plus::{generator, spread_centres, spread_sample};
use super::numbering::by_first_component;
use super::standardise::Features;
use super::tried_parts::{self, TriedParts};

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
/// Cells side by side that are asked together whether any of them may change hands.
const GROUP: usize = 16;
/// Cells whose distances are worked out at once: what fits into the registers of any processor.
const LANES: usize = 8;
/// Share of two distances that their difference must exceed before it counts: many times what single precision rounds off them.
const ROUNDING: f32 = 1e-4;
/// Passes at most; smooth maps settle in 10 to 60.
const PASSES: usize = 300;
/// A pass over all cells that moves fewer than one in this many ends the work; below that many cells none may move.
const SETTLED: usize = 10_000;
/// The same from centres that are settled on a sample: a thousandth of a field is less than any patch that is kept.
const NEARLY_SETTLED: usize = 1_000;

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
    let (starts, settled) = if sample.cells() < features.cells() {
        (STARTS_ON_SAMPLE, NEARLY_SETTLED)
    } else {
        (STARTS, SETTLED)
    };
    let start = best_start(&sample, count.clamp(1, 254), starts, seed);
    refine(features, start, settled)
}

/// The clusters that a zoning on trial leads to, so that what is drawn is what was tested.
#[must_use]
pub fn k_means_from_parts(features: &Features, parts: &TriedParts) -> Clusters {
    let cells = parts
        .cells
        .iter()
        .copied()
        .zip(parts.labels.iter().copied());
    let start = tried_parts::centres(features, cells, parts.count);
    refine(features, start, NEARLY_SETTLED)
}

/// Clusters of a sample that stands for a field, where an answer near the best will do.
pub(super) fn k_means_of_sample(sample: &Features, count: usize, seed: u64) -> Clusters {
    let start = best_start(sample, count.clamp(1, 254), STARTS_ON_SAMPLE, seed);
    refine(sample, start, SETTLED)
}

/// Centres (row-major) of the best start on a small table. All starts run a few passes, the better ones to their end.
fn best_start(
    sample: &Features,
    count: usize,
    (starts, finalists): (u64, usize),
    seed: u64,
) -> Vec<f32> {
    if sample.cells() == 0 {
        return Vec::new();
    }
    let tiles = Tiles::from_features(sample);
    let begin = |start: u64| {
        let mut work = Lloyd::new(
            sample,
            &tiles,
            spread_centres(sample, count, &mut generator(seed, start)),
        );
        work.settle(FIRST_PASSES, SETTLED, false);
        (work.inertia(), start, work.centres)
    };
    let mut firsts: Vec<(f64, u64, Vec<f32>)> = (0..starts).into_par_iter().map(begin).collect();
    firsts.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    firsts.truncate(finalists);
    let end = |(_, _, centres): (f64, u64, Vec<f32>)| {
        let mut work = Lloyd::new(sample, &tiles, centres);
        work.settle(PASSES, SETTLED, false);
        (work.inertia(), work.centres)
    };
    let ends: Vec<(f64, Vec<f32>)> = firsts.into_par_iter().map(end).collect();
    // The first of equal ones, so that the answer does not hang on the order in which threads end.
    ends.into_iter()
        .reduce(|best, next| if next.0 < best.0 { next } else { best })
        .map(|(_, centres)| centres)
        .unwrap_or_default()
}

/// The clusters that a start leads to on all cells, until a pass moves fewer than one in so many.
fn refine(features: &Features, start: Vec<f32>, settled: usize) -> Clusters {
    let tiles = Tiles::from_features(features);
    let mut work = Lloyd::new(features, &tiles, start);
    work.settle(PASSES, settled, true);
    let inertia = work.inertia();
    work.into_clusters(inertia)
}

/// Each cell to its nearest centre, once; the centres stay where they are.
#[must_use]
pub fn nearest_centres(features: &Features, centres: &[Vec<f64>]) -> Clusters {
    let flat = centres.iter().flatten().map(|&c| c as f32).collect();
    let tiles = Tiles::from_features(features);
    let mut work = Lloyd::new(features, &tiles, flat);
    work.pass(true);
    let inertia = work.inertia();
    let found = work.into_clusters(inertia);
    Clusters {
        centres: centres.to_vec(),
        ..found
    }
}

/// The features once more, eight cells side by side layer by layer, as the distances are worked out.
///
/// # Shape
/// One entry per eight cells and layer; behind the last cell stand zeros.
struct Tiles {
    values: Vec<[f32; LANES]>,
    layers: usize,
}

impl Tiles {
    fn from_features(features: &Features) -> Self {
        let layers = features.layers();
        let mut values =
            vec![[0.0; LANES]; features.cells().div_ceil(GROUP) * (GROUP / LANES) * layers];
        for layer in 0..layers {
            for (tile, cells) in features.column(layer).chunks(LANES).enumerate() {
                values[tile * layers + layer][..cells.len()].copy_from_slice(cells);
            }
        }
        Self { values, layers }
    }

    /// The tiles of a group of cells.
    fn of_group(&self, group: usize) -> &[[f32; LANES]] {
        let length = GROUP / LANES * self.layers;
        &self.values[group * length..(group + 1) * length]
    }
}

struct Lloyd<'f> {
    features: &'f Features,
    tiles: &'f Tiles,
    /// Row-major, cluster x layer.
    centres: Vec<f32>,
    labels: Vec<u8>,
    sums: Vec<f64>,
    sizes: Vec<i64>,
    /// For each group of cells, how much farther its nearest centre may move off and another come near before any cell changes hands.
    slack: Vec<f32>,
    layers: usize,
}

/// What a chunk's pass changed.
struct Change {
    moved: usize,
    sums: Vec<f64>,
    sizes: Vec<i64>,
}

const NOWHERE: u8 = u8::MAX;

impl<'f> Lloyd<'f> {
    fn new(features: &'f Features, tiles: &'f Tiles, centres: Vec<f32>) -> Self {
        let layers = features.layers();
        let clusters = centres.len() / layers.max(1);
        let (labels, sums, sizes) = (
            vec![NOWHERE; features.cells()],
            vec![0.0; centres.len()],
            vec![0; clusters],
        );
        let slack = vec![f32::NEG_INFINITY; features.cells().div_ceil(GROUP)];
        Self {
            features,
            tiles,
            centres,
            labels,
            sums,
            sizes,
            slack,
            layers,
        }
    }

    fn settle(&mut self, passes: usize, settled: usize, is_parallel: bool) {
        for _ in 0..passes {
            let moved = self.pass(is_parallel);
            if moved == 0 || moved < self.features.cells() / settled {
                break;
            }
            self.move_centres();
        }
    }

    /// Puts each cell into its nearest cluster and keeps the sums; how many cells moved.
    fn pass(&mut self, is_parallel: bool) -> usize {
        let (features, tiles, centres) = (self.features, self.tiles, &self.centres);
        let chunk = |(index, (labels, slack)): (usize, (&mut [u8], &mut [f32]))| {
            assign((features, tiles), index * CHUNK, centres, (labels, slack))
        };
        let changes: Vec<Change> = if is_parallel {
            self.labels
                .par_chunks_mut(CHUNK)
                .zip(self.slack.par_chunks_mut(CHUNK / GROUP))
                .enumerate()
                .map(chunk)
                .collect()
        } else {
            self.labels
                .chunks_mut(CHUNK)
                .zip(self.slack.chunks_mut(CHUNK / GROUP))
                .enumerate()
                .map(chunk)
                .collect()
        };
        for change in &changes {
            self.sums
                .iter_mut()
                .zip(&change.sums)
                .for_each(|(sum, more)| *sum += more);
            self.sizes
                .iter_mut()
                .zip(&change.sizes)
                .for_each(|(size, more)| *size += more);
        }
        changes.iter().map(|change| change.moved).sum()
    }

    /// A cluster that lost all its cells stays where it is.
    fn move_centres(&mut self) {
        let mut farthest = 0.0_f64;
        for (cluster, &size) in self.sizes.iter().enumerate().filter(|(_, size)| **size > 0) {
            let mut squared = 0.0;
            for layer in 0..self.layers {
                let at = cluster * self.layers + layer;
                let centre = (self.sums[at] / size as f64) as f32;
                squared += (f64::from(centre) - f64::from(self.centres[at])).powi(2);
                self.centres[at] = centre;
            }
            farthest = farthest.max(squared);
        }
        // The own centre may have moved off and another come near, each so far; rounded up.
        let way = (2.0 * farthest.sqrt() * 1.000_001) as f32;
        self.slack.iter_mut().for_each(|slack| *slack -= way);
    }

    /// Sum of squared distances to the exact means of the clusters, in double precision.
    fn inertia(&self) -> f64 {
        let features = self.features;
        let means: Vec<f64> = self
            .sums
            .iter()
            .enumerate()
            .map(|(at, sum)| sum / self.sizes[at / self.layers].max(1) as f64)
            .collect();
        let of_chunk = |(index, labels): (usize, &[u8])| -> f64 {
            let from = index * CHUNK;
            (0..self.layers)
                .map(|layer| {
                    let column = &features.column(layer)[from..from + labels.len()];
                    let term = |(&value, &label): (&f32, &u8)| {
                        (f64::from(value) - means[label as usize * self.layers + layer]).powi(2)
                    };
                    column.iter().zip(labels).map(term).sum::<f64>()
                })
                .sum()
        };
        let sums: Vec<f64> = if self.labels.len() > CHUNK {
            self.labels
                .par_chunks(CHUNK)
                .enumerate()
                .map(of_chunk)
                .collect()
        } else {
            self.labels
                .chunks(CHUNK)
                .enumerate()
                .map(of_chunk)
                .collect()
        };
        sums.iter().sum()
    }

    /// Drops empty clusters and puts the others into their lasting order.
    fn into_clusters(self, inertia: f64) -> Clusters {
        let filled: Vec<usize> = (0..self.sizes.len())
            .filter(|&cluster| self.sizes[cluster] > 0)
            .collect();
        let mean = |cluster: usize| -> Vec<f64> {
            let sums = &self.sums[cluster * self.layers..(cluster + 1) * self.layers];
            sums.iter()
                .map(|sum| sum / self.sizes[cluster] as f64)
                .collect()
        };
        let centres: Vec<Vec<f64>> = filled.iter().map(|&cluster| mean(cluster)).collect();
        let sizes: Vec<usize> = filled
            .iter()
            .map(|&cluster| self.sizes[cluster] as usize)
            .collect();
        let order = by_first_component(&centres, &sizes);
        let mut new_label = vec![0_u8; self.sizes.len()];
        for (place, &old) in order.iter().enumerate() {
            new_label[filled[old]] = place as u8;
        }
        let labels = self
            .labels
            .iter()
            .map(|&label| new_label[label as usize])
            .collect();
        Clusters {
            centres: order.iter().map(|&old| centres[old].clone()).collect(),
            labels,
            sizes: order.iter().map(|&old| sizes[old]).collect(),
            inertia,
        }
    }
}

fn assign(
    (features, tiles): (&Features, &Tiles),
    from: usize,
    centres: &[f32],
    (labels, slack): (&mut [u8], &mut [f32]),
) -> Change {
    let layers = tiles.layers.max(1);
    let mut change = Change {
        moved: 0,
        sums: vec![0.0; centres.len()],
        sizes: vec![0; centres.len() / layers],
    };
    for (group, (labels, slack)) in labels
        .chunks_mut(GROUP)
        .zip(slack)
        .enumerate()
        .filter(|(_, (_, slack))| **slack <= 0.0)
    {
        let first = from + group * GROUP;
        *slack = f32::INFINITY;
        for (part, (labels, tile)) in labels
            .chunks_mut(LANES)
            .zip(tiles.of_group(first / GROUP).chunks_exact(layers))
            .enumerate()
        {
            let nearest = Nearest::among(tile, centres);
            *slack = slack.min(nearest.slack(labels.len()));
            for (offset, (label, &new)) in labels.iter_mut().zip(&nearest.cluster).enumerate() {
                let (old, new) = (*label, new as u8);
                if old != new {
                    *label = new;
                    change.moved += 1;
                    change.shift(features, first + part * LANES + offset, old, -1);
                    change.shift(features, first + part * LANES + offset, new, 1);
                }
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
            self.sums[cluster as usize * layers + layer] +=
                by as f64 * f64::from(features.column(layer)[cell]);
        }
    }
}

/// The nearest centre of each cell of a tile; the first of equally near ones.
struct Nearest {
    cluster: [u32; LANES],
    /// Squared distance to it.
    squared: [f32; LANES],
    /// Squared distance to the next one.
    second: [f32; LANES],
}

impl Nearest {
    #[inline]
    fn among(tile: &[[f32; LANES]], centres: &[f32]) -> Self {
        let mut found = Self {
            cluster: [0; LANES],
            squared: [f32::INFINITY; LANES],
            second: [f32::INFINITY; LANES],
        };
        for (cluster, centre) in centres.chunks_exact(tile.len()).enumerate() {
            let mut squared = [0.0_f32; LANES];
            for (values, &middle) in tile.iter().zip(centre) {
                for (sum, value) in squared.iter_mut().zip(values) {
                    *sum += (value - middle) * (value - middle);
                }
            }
            found.offer(cluster as u32, squared);
        }
        found
    }

    #[inline]
    fn offer(&mut self, cluster: u32, squared: [f32; LANES]) {
        for (i, here) in squared.into_iter().enumerate() {
            let is_nearer = here < self.squared[i];
            let farther = if is_nearer { self.squared[i] } else { here };
            self.second[i] = if farther < self.second[i] {
                farther
            } else {
                self.second[i]
            };
            self.squared[i] = if is_nearer { here } else { self.squared[i] };
            self.cluster[i] = if is_nearer { cluster } else { self.cluster[i] };
        }
    }

    /// How much the two distances of each of the first cells may draw together before one of them could change hands.
    #[inline]
    fn slack(&self, length: usize) -> f32 {
        let mut slack = [f32::INFINITY; LANES];
        for (i, slack) in slack.iter_mut().enumerate() {
            *slack = self.second[i].sqrt() * (1.0 - ROUNDING)
                - self.squared[i].sqrt() * (1.0 + ROUNDING);
        }
        slack[..length].iter().fold(
            f32::INFINITY,
            |least, &slack| if slack < least { slack } else { least },
        )
    }
}
