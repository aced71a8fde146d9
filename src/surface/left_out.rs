//! The places that are left out one by one, and their neighbours.

use rayon::prelude::*;

use super::inverse_distance::AT_THE_PLACE;
use super::matching;
use super::neighbours::{Neighbour, Neighbours, Search};
use super::sites::Sites;

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
