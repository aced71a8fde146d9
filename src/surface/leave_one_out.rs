//! Each place is predicted from all the others: the honest error of a map.

use rayon::prelude::*;

use super::inverse_distance::{AT_THE_PLACE, Power};
use super::matching;
use super::neighbours::{Neighbour, Neighbours, Search};
use super::sites::Sites;
use super::smoother::Smoother;
use super::surfaces::{PlainSkill, Skill};
use super::tuning::{self, Tuned};

/// Places left out one by one; of more, so many evenly chosen ones. An error from so many is itself known to 1 %
/// (the relative standard error of a root mean square from n normal errors is 1 / sqrt(2 n)).
pub(super) const MOST_PLACES: usize = 5_000;
/// Most pairs of a place and a neighbour that are held in memory.
const MOST_PAIRS: usize = 2_000_000;
/// Places per piece of parallel work.
const PIECE: usize = 64;

/// Neighbours beyond those that the table asks for, so that a place can do without its nearest.
const SPARE: usize = 24;

/// The places that are left out, each with its neighbours elsewhere by rising distance.
pub(super) struct LeftOut {
    /// Site of each place.
    pub sites: Vec<u32>,
    /// How many of its nearest each place does without, to stand as far from the others as the map's cells do.
    skips: Vec<usize>,
    /// Neighbours of all places, one after the other.
    near: Vec<Neighbour>,
    /// Where each place's neighbours start, and the end.
    starts: Vec<usize>,
}

impl LeftOut {
    /// Finds for each place (or for an even choice of them) the `count` nearest sites elsewhere and their ties.
    /// Observations at the very same place are left out together: a core does not predict its own duplicate.
    /// `cells` are squared distances of cells of the map to their nearest site.
    pub(super) fn new(neighbours: &Neighbours<'_>, asked: usize, cells: Vec<f64>) -> Self {
        let sites = neighbours.sites();
        let count = asked.saturating_add(SPARE).min(sites.len());
        let chosen = sites
            .places()
            .min(MOST_PLACES)
            .min((MOST_PAIRS / count.max(1)).max(1));
        let places: Vec<usize> = (0..chosen)
            .map(|i| sites.place(i * sites.places() / chosen))
            .collect();
        let pieces: Vec<(Vec<Neighbour>, Vec<usize>)> = places
            .par_chunks(PIECE)
            .map(|piece| {
                let (mut near, mut lengths, mut found) =
                    (Vec::new(), Vec::with_capacity(piece.len()), Vec::new());
                let mut search = neighbours.search(count);
                for &site in piece {
                    elsewhere(&mut search, sites, site, count, &mut found);
                    lengths.push(found.len());
                    near.extend_from_slice(&found);
                }
                (near, lengths)
            })
            .collect();
        let mut left_out = Self {
            sites: places.iter().map(|&site| site as u32).collect(),
            skips: Vec::new(),
            near: Vec::new(),
            starts: vec![0],
        };
        for (near, lengths) in pieces {
            left_out.near.extend(near);
            for length in lengths {
                left_out
                    .starts
                    .push(left_out.starts[left_out.starts.len() - 1] + length);
            }
        }
        left_out.skips = left_out.matched_to(cells, asked, sites.places());
        left_out
    }

    fn matched_to(&self, cells: Vec<f64>, asked: usize, places: usize) -> Vec<usize> {
        // Every place keeps as many neighbours as are asked for, where it has them.
        let near: Vec<&[Neighbour]> = (0..self.len())
            .map(|n| {
                let near = self.near(n);
                let spare = if near.len() + 1 < places {
                    near.len().saturating_sub(asked) + 1
                } else {
                    near.len()
                };
                &near[..spare.max(1).min(near.len())]
            })
            .collect();
        matching::skips(&near, places.saturating_sub(1), cells)
    }

    /// How many places are left out.
    pub(super) fn len(&self) -> usize {
        self.sites.len()
    }

    /// Neighbours elsewhere of the n-th place, by rising distance.
    pub(super) fn near(&self, n: usize) -> &[Neighbour] {
        &self.near[self.starts[n]..self.starts[n + 1]]
    }

    /// The same without those that stand nearer than the map's cells stand to their nearest.
    pub(super) fn matched(&self, n: usize) -> &[Neighbour] {
        &self.near(n)[self.skips[n]..]
    }

    /// How many neighbours a place does without, on average.
    pub(super) fn mean_skip(&self) -> f64 {
        self.skips.iter().sum::<usize>() as f64 / self.len().max(1) as f64
    }

    /// The sites at the n-th place and those that it does without.
    pub(super) fn without(&self, n: usize, sites: &Sites) -> Vec<u32> {
        let site = self.sites[n] as usize;
        let here = (site..sites.len())
            .take_while(|&i| sites.x[i] == sites.x[site] && sites.y[i] == sites.y[site])
            .map(|i| i as u32);
        here.chain(self.near(n)[..self.skips[n]].iter().map(|near| near.site))
            .collect()
    }
}

/// The `count` nearest sites that do not share a place with a site.
fn elsewhere(
    search: &mut Search<'_>,
    sites: &Sites,
    site: usize,
    count: usize,
    found: &mut Vec<Neighbour>,
) {
    let (x, y) = (sites.x[site], sites.y[site]);
    let here = (site..sites.len())
        .take_while(|&i| sites.x[i] == x && sites.y[i] == y)
        .count();
    search.nearest(x, y, count.saturating_add(here), found);
    // What is too near to be told apart counts as the same place; then some more must be asked for.
    let mut same = found
        .iter()
        .take_while(|n| n.squared <= AT_THE_PLACE)
        .count();
    if same > here {
        search.nearest(x, y, count.saturating_add(same), found);
        same = found
            .iter()
            .take_while(|n| n.squared <= AT_THE_PLACE)
            .count();
    }
    found.drain(..same);
}

/// What is observed and what the others predict, place by place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Prediction {
    /// Observed, or the mean of a place's observations.
    pub observed: Vec<f64>,
    /// Predicted from all others.
    pub predicted: Vec<f64>,
}

impl Prediction {
    /// Predicts every place left out. `values` go by observation, `source` says which observation stands at a site.
    pub(super) fn new(
        left_out: &LeftOut,
        source: &[u32],
        values: &[f64],
        power: Power,
        count: usize,
    ) -> Self {
        let value = |site: u32| values[source[site as usize] as usize];
        let observed = left_out.sites.iter().map(|&site| value(site)).collect();
        let mut weights = Vec::new();
        let predicted = (0..left_out.len())
            .map(|n| {
                let near = left_out.near(n);
                power.weigh(near, count, &mut weights);
                let sum: f64 = weights
                    .iter()
                    .zip(near)
                    .map(|(w, n)| w * value(n.site))
                    .sum();
                sum / weights.iter().sum::<f64>()
            })
            .collect();
        Self {
            observed,
            predicted,
        }
    }

    /// What a tuned layer's places are predicted at, from their matched neighbours.
    pub(super) fn matched(
        smoother: &Smoother,
        left_out: &LeftOut,
        source: &[u32],
        values: &[f64],
        tuned: &Tuned,
    ) -> Self {
        let columns = tuning::columns(source, &[values]);
        let observed = left_out
            .sites
            .iter()
            .map(|&site| values[source[site as usize] as usize])
            .collect();
        let predicted = smoother
            .predictions(&columns, tuned.entry, tuned.is_tilted)
            .iter()
            .map(|lanes| lanes[0])
            .collect();
        Self {
            observed,
            predicted,
        }
    }

    /// Predicted minus observed, place by place.
    pub(super) fn errors(&self) -> Vec<f64> {
        self.predicted
            .iter()
            .zip(&self.observed)
            .map(|(p, o)| p - o)
            .collect()
    }

    /// Error of the mean of all the others, place by place.
    pub(super) fn errors_of_mean(&self) -> Vec<f64> {
        let n = self.observed.len() as f64;
        let sum: f64 = self.observed.iter().sum();
        self.observed
            .iter()
            .map(|o| (sum - o) / (n - 1.0) - o)
            .collect()
    }

    /// Skill of the map, without the interval, the test and Moran's I; `plain` is the prediction from all the others.
    pub(super) fn skill(&self, plain: &Self) -> Skill {
        let (errors, of_mean) = (self.errors(), self.errors_of_mean());
        let n = errors.len() as f64;
        let mean_square = |numbers: &[f64]| numbers.iter().map(|e| e * e).sum::<f64>() / n;
        let baseline_rmse = mean_square(&of_mean).sqrt();
        let efficiency = |rmse: f64| {
            if baseline_rmse > 0.0 {
                1.0 - (rmse / baseline_rmse).powi(2)
            } else {
                0.0
            }
        };
        let plain_errors = plain.errors();
        let (rmse, plain_rmse) = (
            mean_square(&errors).sqrt(),
            mean_square(&plain_errors).sqrt(),
        );
        Skill {
            n: errors.len(),
            rmse,
            mean_error: errors.iter().sum::<f64>() / n,
            baseline_rmse,
            efficiency: efficiency(rmse),
            plain: PlainSkill {
                rmse: plain_rmse,
                mean_error: plain_errors.iter().sum::<f64>() / n,
                efficiency: efficiency(plain_rmse),
            },
            efficiency_interval: None,
            p_value: None,
            morans_i: None,
        }
    }
}
