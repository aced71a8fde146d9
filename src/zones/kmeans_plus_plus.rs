//! Seeded random choices: which cells stand for all, and where the clusters start.

use rand::Rng;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::standardise::Features;

/// A generator for one start; starts of the same seed are independent of each other.
pub(super) fn generator(seed: u64, start: u64) -> ChaCha8Rng {
    let mut generator = ChaCha8Rng::seed_from_u64(seed);
    generator.set_stream(start);
    generator
}

/// A number from 0 up to, not including, 1.
fn unit(generator: &mut ChaCha8Rng) -> f64 {
    // 53 bits are what a double holds.
    (generator.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
}

/// At most `wanted` of the cells, spread evenly over the grid: one at random from each of `wanted` equal runs.
pub(super) fn spread_sample(cells: usize, wanted: usize, seed: u64) -> Vec<u32> {
    if cells <= wanted {
        return (0..cells as u32).collect();
    }
    let mut generator = generator(seed, u64::MAX);
    (0..wanted)
        .map(|run| {
            let (from, to) = (run * cells / wanted, (run + 1) * cells / wanted);
            (from + (unit(&mut generator) * (to - from) as f64) as usize).min(to - 1) as u32
        })
        .collect()
}

/// Starting centres, row-major (cluster x layer): each is drawn with a chance in proportion to the squared distance from
/// those already drawn, and the best of a few draws is kept. Fewer than `count` where fewer cells differ.
///
/// # Source
/// Arthur and Vassilvitskii 2007, "k-means++: the advantages of careful seeding", SODA, section 2; the several draws
/// per centre are the greedy variant they name in their closing section (number of draws 2 + ln k: common practice).
pub(super) fn spread_centres(
    features: &Features,
    count: usize,
    generator: &mut ChaCha8Rng,
) -> Vec<f32> {
    let cells = features.cells();
    let draws = 2 + (count as f64).ln() as usize;
    let first = (unit(generator) * cells as f64) as usize;
    let mut centres = row(features, first.min(cells - 1));
    let mut nearest = vec![0.0_f32; cells];
    let mut trial = vec![0.0_f32; cells];
    squared_distances(features, &centres, &mut nearest);
    for _ in 1..count {
        let total: f64 = nearest.iter().map(|&d| f64::from(d)).sum();
        if total <= 0.0 {
            break;
        }
        let mut best: Option<(f64, Vec<f32>, Vec<f32>)> = None;
        for _ in 0..draws {
            let candidate = row(features, draw(&nearest, unit(generator) * total));
            squared_distances(features, &candidate, &mut trial);
            trial
                .iter_mut()
                .zip(&nearest)
                .for_each(|(new, &old)| *new = new.min(old));
            let left: f64 = trial.iter().map(|&d| f64::from(d)).sum();
            if best.as_ref().is_none_or(|(least, ..)| left < *least) {
                best = Some((left, candidate, trial.clone()));
            }
        }
        if let Some((_, candidate, distances)) = best {
            centres.extend(candidate);
            nearest = distances;
        }
    }
    centres
}

fn row(features: &Features, cell: usize) -> Vec<f32> {
    (0..features.layers())
        .map(|layer| features.column(layer)[cell])
        .collect()
}

fn draw(weights: &[f32], target: f64) -> usize {
    let mut passed = 0.0;
    let mut last = 0;
    for (cell, &weight) in weights.iter().enumerate() {
        if weight > 0.0 {
            last = cell;
            passed += f64::from(weight);
            if passed > target {
                break;
            }
        }
    }
    last
}

fn squared_distances(features: &Features, centre: &[f32], out: &mut [f32]) {
    out.fill(0.0);
    for (layer, &middle) in centre.iter().enumerate() {
        for (sum, &value) in out.iter_mut().zip(features.column(layer)) {
            *sum += (value - middle) * (value - middle);
        }
    }
}
