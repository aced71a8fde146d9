//! Does a layer's map do better than chance? Its values are shuffled over the places, tuned anew each time, and the errors held
//! against the true one.

use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use statrs::distribution::{ContinuousCDF, Gamma, Normal};

use super::blocks::Blocks;
use super::leave_one_out::Prediction;
use super::left_out::LeftOut;
use super::sites::Sites;
use super::smoother::{LANES, Lanes, Smoother};
use super::tuning::{Tuned, least};

/// Largest corrected p value with which a map is drawn: of fields that hold nothing but noise at most this share get any map.
pub(super) const LARGEST_P: f64 = 0.05;
/// Shuffles after which it is looked whether the matter is decided.
const STAGES: [usize; 4] = [40, 200, 1_000, 4_000];
/// So many shuffles that do as well decide that the layer is no better than chance.
const ENOUGH: usize = 10;
/// A tail so far beyond the limit decides that it is: the fewer shuffles it is fitted to, the farther.
const BEYOND: [f64; 4] = [10_000.0, 50.0, 50.0, 50.0];
/// But only where the layer gains so many times what the luckiest shuffle gains: shuffles of skewed values have tails that no few
/// moments tell.
const CLEAR_GAIN: [f64; 4] = [3.0, 2.0, 1.5, 1.5];
/// More places than this are not predicted anew for each shuffle: the observed values are shuffled against the predictions.
pub(super) const MOST_PREDICTED_ANEW: usize = 1_000;
/// One seed for all, so that the same field has the same p values.
const SEED: u64 = 0x7e57;

/// A layer to test.
pub(super) struct Tested<'a> {
    /// Its places.
    pub left_out: &'a LeftOut,
    /// Places that stand together, where some do.
    pub blocks: Option<&'a Blocks>,
    /// Its sites.
    pub sites: &'a Sites,
    /// What predicts them.
    pub smoother: &'a Smoother,
    /// Values by observation.
    pub values: &'a [f64],
    /// What was chosen for it.
    pub tuned: Tuned,
    /// Its prediction.
    pub prediction: &'a Prediction,
}

/// Share of shuffles that are predicted as well as the layer itself, the true order counted as one of them. Stops as soon as it is
/// decided against a limit, as the smallest that matters.
///
/// Cores in pairs or heaps are alike because they stand together, which says nothing of the field between the heaps. Shuffled one by
/// one such values look like structure, so whole blocks are shuffled too, and the larger share counts.
///
/// # Source
/// Early stop: Besag, J. and P. Clifford. 1991. Sequential Monte Carlo p-values. Biometrika 78:301-304 (from memory). Tail by
/// Pearson's third type from the moments of the shuffles: own use, held to full enumeration in a test. What may be shuffled is what
/// is exchangeable without structure: Anderson, M.J. and C.J.F. ter Braak. 2003. Permutation tests for multi-factorial analysis of
/// variance. Journal of Statistical Computation and Simulation 73:85-113 (from memory); means and differences apart: own.
pub(super) fn p_value(tested: &Tested<'_>, limit: f64) -> f64 {
    let singly = share_as_good(tested, None, limit);
    match tested.blocks {
        Some(blocks) if singly <= LARGEST_P && tested.is_small() => {
            singly.max(share_as_good(tested, Some(blocks), limit))
        }
        _ => singly,
    }
}

impl Tested<'_> {
    /// Whether every shuffle is predicted anew.
    fn is_small(&self) -> bool {
        self.left_out.len() <= MOST_PREDICTED_ANEW && self.left_out.len() == self.sites.places()
    }
}

fn share_as_good(tested: &Tested<'_>, blocks: Option<&Blocks>, limit: f64) -> f64 {
    let (mut shuffled, mut as_good) = (Vec::new(), 0);
    let truth = if tested.is_small() {
        tested.tuned.least
    } else {
        squares(&tested.prediction.predicted, &tested.prediction.observed)
    };
    // Equal up to rounding is as good.
    let truth = truth * (1.0 + 1e-9);
    for ((stage, beyond), gain) in STAGES.into_iter().zip(BEYOND).zip(CLEAR_GAIN) {
        while shuffled.len() < stage {
            for errors in batches(tested, blocks, (shuffled.len(), stage)) {
                as_good += errors.iter().filter(|error| **error <= truth).count();
                shuffled.extend(errors);
                if as_good >= ENOUGH {
                    return as_good as f64 / shuffled.len() as f64;
                }
            }
        }
        let tail = lower_tail(&shuffled, truth);
        if as_good == 0 && tail < limit / beyond && gains(&shuffled, truth) > gain {
            return tail;
        }
    }
    (as_good + 1) as f64 / (shuffled.len() + 1) as f64
}

/// How many times what the luckiest shuffle gains over their mean the layer itself gains.
fn gains(shuffled: &[f64], truth: f64) -> f64 {
    let mean = shuffled.iter().sum::<f64>() / shuffled.len() as f64;
    let luckiest = shuffled.iter().copied().fold(f64::INFINITY, f64::min);
    (mean - truth) / (mean - luckiest).max(f64::MIN_POSITIVE)
}

/// The next batches of shuffles of a stage, one for each thread; how many are made at once changes no number, since each has its own stream
/// and they are looked at in their order.
fn batches(
    tested: &Tested<'_>,
    blocks: Option<&Blocks>,
    (made, stage): (usize, usize),
) -> Vec<[f64; LANES]> {
    let first = made / LANES;
    let last = stage
        .div_ceil(LANES)
        .min(first + rayon::current_num_threads());
    let batch = |batch: usize| {
        if tested.is_small() {
            batch_anew(tested, blocks, batch as u64)
        } else {
            batch_of_pairs(tested.prediction, batch as u64)
        }
    };
    (first..last).into_par_iter().map(batch).collect()
}

/// Errors of so many shuffles as there are lanes, everything tuned anew.
fn batch_anew(tested: &Tested<'_>, blocks: Option<&Blocks>, batch: u64) -> [f64; LANES] {
    let (sites, places) = (tested.sites, &tested.left_out.sites);
    let mut random = stream(batch);
    let mut columns = vec![[0.0; LANES]; sites.len()];
    let value = |&site: &u32| tested.values[sites.source[site as usize] as usize];
    let own: Vec<f64> = places.iter().map(value).collect();
    let mut order = own.clone();
    for lane in 0..LANES {
        match blocks {
            Some(blocks) => order = blocks.shuffled(&own, &mut random),
            None => order.shuffle(&mut random),
        }
        fill(&mut columns, lane, places, &order);
    }
    let squares = tested.smoother.squares(&columns);
    std::array::from_fn(|lane| least(&squares, lane))
}

/// Every site of a place takes the value that the shuffle puts there.
fn fill(columns: &mut [Lanes], lane: usize, places: &[u32], values: &[f64]) {
    for (at, (&place, &value)) in places.iter().zip(values).enumerate() {
        let end = places
            .get(at + 1)
            .map_or(columns.len(), |&next| next as usize);
        for column in &mut columns[place as usize..end] {
            column[lane] = value;
        }
    }
}

fn batch_of_pairs(prediction: &Prediction, batch: u64) -> [f64; LANES] {
    let mut random = stream(batch);
    let mut observed = prediction.observed.clone();
    std::array::from_fn(|_| {
        observed.shuffle(&mut random);
        squares(&prediction.predicted, &observed)
    })
}

fn stream(batch: u64) -> ChaCha8Rng {
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    random.set_stream(batch);
    random
}

fn squares(predicted: &[f64], observed: &[f64]) -> f64 {
    predicted
        .iter()
        .zip(observed)
        .map(|(p, o)| (p - o) * (p - o))
        .sum()
}

/// Probability of a number so low, by a Pearson distribution of the third type with the mean, variance and skewness of others.
fn lower_tail(numbers: &[f64], at: f64) -> f64 {
    let n = numbers.len() as f64;
    let mean = numbers.iter().sum::<f64>() / n;
    let moment = |power: i32| numbers.iter().map(|v| (v - mean).powi(power)).sum::<f64>() / n;
    let deviation = moment(2).sqrt();
    if deviation <= 0.0 {
        return 1.0;
    }
    // The tail below is the tail above of the numbers turned round.
    let (z, skewness) = ((mean - at) / deviation, -moment(3) / deviation.powi(3));
    upper_tail(z, skewness)
}

/// Probability above `z` of a Pearson distribution of the third type with mean 0, variance 1 and a skewness.
fn upper_tail(z: f64, skewness: f64) -> f64 {
    let normal = || Normal::standard().sf(z);
    if skewness.abs() < 1e-3 {
        return normal();
    }
    let shape = 4.0 / (skewness * skewness);
    let Ok(gamma) = Gamma::new(shape, 1.0) else {
        return normal();
    };
    let x = shape + z * shape.sqrt() * skewness.signum();
    if skewness > 0.0 {
        gamma.sf(x.max(0.0))
    } else {
        gamma.cdf(x.max(0.0))
    }
}

/// P values corrected for their number, in the order they came in.
///
/// # Source
/// Holm, S. 1979. A simple sequentially rejective multiple test procedure. Scandinavian Journal of Statistics 6:65-70 (from
/// memory; the check values are R's `p.adjust`).
pub(super) fn holm(p_values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p_values.len()).collect();
    order.sort_by(|&a, &b| p_values[a].total_cmp(&p_values[b]).then(a.cmp(&b)));
    let mut corrected = vec![1.0; p_values.len()];
    let mut highest = 0.0_f64;
    for (rank, &at) in order.iter().enumerate() {
        highest = highest
            .max((p_values.len() - rank) as f64 * p_values[at])
            .min(1.0);
        corrected[at] = highest;
    }
    corrected
}

#[cfg(test)]
#[path = "permutation_tests.rs"]
mod tests;
