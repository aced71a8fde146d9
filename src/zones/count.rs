//! How many zones a field deserves.
//!
//! More zones always explain more of the maps, and the fuzzy indices and the silhouette nearly always ask for two. So no index
//! decides alone. For each count from 2 to 8 the score is
//!
//! `score = variance explained x mean of (1 - FPI, 1 - NCE, silhouette)`
//!
//! and the fewest zones win whose score comes within 5 % of the best: a further zone must earn its trouble. There is
//! **one** zone where the winner would account for less than 10 % of the variance of the samples, layer by layer the share that the zones explain of
//! the map times the share that the map predicts of the samples (leave-one-out). The score and its constants are our own.

use rayon::prelude::*;

use super::fuzzy_c_means::fuzzy_from;
use super::indices::{
    classification_entropy_by_classes, fuzziness_performance_index, silhouette, variance_explained,
    variance_explained_by_layer,
};
use super::k_means::k_means_of_sample;
use super::kmeans_plus_plus::spread_sample;
use super::partition::CountRow;
use super::standardise::Features;
use crate::units::decimal;

/// Most zones that are tried: more than eight rates in a field are hard to explain to anyone (own).
const MOST: usize = 8;
/// Cells that counts are compared on (own).
const SAMPLE: usize = 2048;
/// A count wins over larger ones from this share of the best score (own).
const NEAR_BEST: f64 = 0.95;
/// Zones that account for less of the samples' variance than this are not worth the trouble (own).
const LEAST_WORTH: f64 = 0.10;
/// Fuzziness exponent of the indices where the plan asks for k-means: common practice for soil is 1.3 to 2, on the open field
/// 1.5 leaves the indices room on both sides.
const EXPONENT: f64 = 1.5;

/// What to count on.
pub(super) struct Question<'a> {
    pub features: &'a Features,
    /// Share of the variance of the samples that each layer's map predicts.
    pub efficiencies: &'a [f64],
    /// Weight of each layer.
    pub weights: &'a [f64],
    /// How many smallest patches fit into the field.
    pub room: usize,
    /// Fuzziness exponent of the plan, where it asks for fuzzy c-means.
    pub exponent: Option<f64>,
    pub seed: u64,
}

/// The number of zones, the table and the sentence for the report.
pub(super) struct Answer {
    pub count: usize,
    pub tried: Vec<CountRow>,
    pub why: String,
}

/// A count with its indices and the share of the samples' variance that it would account for.
struct Trial {
    row: CountRow,
    worth: f64,
}

/// Chooses the number of zones.
pub(super) fn decide(question: &Question<'_>) -> Answer {
    if question.room < 2 {
        let why = "One zone: the field is smaller than two patches of the smallest size that the plan allows.".to_owned();
        return Answer {
            count: 1,
            tried: Vec::new(),
            why,
        };
    }
    let sample = question.features.sample(&spread_sample(
        question.features.cells(),
        SAMPLE,
        question.seed,
    ));
    let most = MOST.min(question.room).min(sample.cells() / 2);
    let mut trials: Vec<Trial> = (2..=most)
        .into_par_iter()
        .map(|count| attempt(&sample, count, question))
        .collect();
    // Fewer clusters than asked for means that fewer cells differ: the row would say the same as an earlier one.
    trials.dedup_by_key(|trial| trial.row.count);
    let best = trials
        .iter()
        .map(|trial| trial.row.score())
        .fold(0.0, f64::max);
    let winner = trials
        .iter()
        .find(|trial| trial.row.score() >= NEAR_BEST * best);
    let (count, why) = match winner {
        Some(trial) if trial.row.count > 1 && trial.worth >= LEAST_WORTH => {
            (trial.row.count, reason(trial, &trials))
        }
        Some(trial) => (1, too_little(trial)),
        None => (
            1,
            "One zone: the maps differ too little from place to place to divide the field."
                .to_owned(),
        ),
    };
    Answer {
        count,
        tried: trials.into_iter().map(|trial| trial.row).collect(),
        why,
    }
}

fn attempt(sample: &Features, count: usize, question: &Question<'_>) -> Trial {
    let clusters = k_means_of_sample(sample, count, question.seed);
    let fuzzy = fuzzy_from(
        sample,
        &clusters.centres,
        question.exponent.unwrap_or(EXPONENT),
    );
    let by_layer = variance_explained_by_layer(sample, &clusters.labels);
    let total: f64 = question.weights.iter().sum();
    let parts = by_layer
        .iter()
        .zip(question.efficiencies)
        .zip(question.weights);
    let worth = parts
        .map(|((explained, efficiency), weight)| explained * efficiency * weight)
        .sum::<f64>()
        / total.max(f64::MIN_POSITIVE);
    let row = CountRow {
        count: clusters.centres.len(),
        explained: variance_explained(sample, &clusters),
        silhouette: silhouette(sample, &clusters.labels, question.seed),
        fuzziness_performance: fuzziness_performance_index(&fuzzy.memberships),
        classification_entropy: classification_entropy_by_classes(&fuzzy.memberships),
    };
    Trial { row, worth }
}

fn reason(winner: &Trial, trials: &[Trial]) -> String {
    let (count, explained, worth) = (
        winner.row.count,
        percent(winner.row.explained),
        percent(winner.worth),
    );
    let start = format!(
        "{count} zones: they explain {explained} % of the variation of the maps and {worth} % of that of the samples"
    );
    let best = trials
        .iter()
        .max_by(|a, b| a.row.score().total_cmp(&b.row.score()));
    match best {
        Some(best) if best.row.count > count => {
            let (more, share) = (best.row.count, percent(best.row.explained));
            format!(
                "{start}; {more} would explain {share} %, which is too little more for the trouble."
            )
        }
        _ => format!("{start}; more zones would be less distinct, fewer would explain less."),
    }
}

fn too_little(trial: &Trial) -> String {
    let (count, worth, least) = (trial.row.count, percent(trial.worth), percent(LEAST_WORTH));
    format!(
        "One zone: even {count} zones would account for only {worth} % of the variation of the samples, under {least} % they are not worth the trouble."
    )
}

fn percent(share: f64) -> String {
    decimal(100.0 * share, 0)
}
