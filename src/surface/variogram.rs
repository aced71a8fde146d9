//! How unlike two observations are, by their distance. It shapes the uncertainty of a map, never its values.

use super::left_out::LeftOut;
use super::nonnegative_fit::{NonnegativeFit, Row};
use super::sites::Sites;

/// Places among which all pairs are taken.
const PAIRED: usize = 250;
/// Classes of distance, narrow where distances are short.
const CLASSES: usize = 20;
/// Ranges that are tried, as shares of the longest distance used; a factor of 1.4 between them.
const RANGES: usize = 16;

/// An exponential semivariogram, `nugget + rise (1 - exp(-h / range))` for h > 0.
///
/// # Source
/// Classes up to half the extent and weights N/h² are common practice in fitting by least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Variogram(NonnegativeFit);

impl Variogram {
    /// Semivariance at a distance in metres; 0 at 0.
    pub(super) fn at(&self, distance: f64) -> f64 {
        if distance > 0.0 {
            self.0.constant + self.0.rise * exponential(distance, self.0.scale)
        } else {
            0.0
        }
    }

    /// Fits one to each layer. `None` where there are no two places.
    pub(super) fn fit(sites: &Sites, left_out: &LeftOut, layers: &[&[f64]]) -> Vec<Option<Self>> {
        let longest = half_extent(sites);
        let mut classes = Classes {
            longest,
            counts: [0.0; CLASSES],
            distances: [0.0; CLASSES],
            squares: vec![[0.0; CLASSES]; layers.len()],
        };
        let chosen = left_out.len().min(PAIRED);
        let paired: Vec<u32> = (0..chosen)
            .map(|i| left_out.sites[i * left_out.len() / chosen])
            .collect();
        for (i, &a) in paired.iter().enumerate() {
            for &b in &paired[..i] {
                classes.add(sites, layers, a, b);
            }
        }
        // Few places of many leave the short distances empty; their neighbours fill them.
        if chosen < sites.places() {
            for place in 0..left_out.len() {
                for near in left_out.near(place).iter().take(8) {
                    classes.add(sites, layers, left_out.sites[place], near.site);
                }
            }
        }
        let ranges = || (0..RANGES).map(|i| longest / 60.0 * 1.4_f64.powi(i as i32));
        (0..layers.len())
            .map(|layer| NonnegativeFit::fit(&classes.rows(layer), ranges(), exponential).map(Self))
            .collect()
    }
}

fn exponential(distance: f64, range: f64) -> f64 {
    1.0 - (-distance / range).exp()
}

/// Half the diagonal of the sites' rectangle, metres.
fn half_extent(sites: &Sites) -> f64 {
    let shelves = &sites.shelves;
    (shelves.columns as f64 * shelves.side).hypot(shelves.rows as f64 * shelves.side) / 2.0
}

struct Classes {
    longest: f64,
    counts: [f64; CLASSES],
    distances: [f64; CLASSES],
    squares: Vec<[f64; CLASSES]>,
}

impl Classes {
    fn add(&mut self, sites: &Sites, layers: &[&[f64]], a: u32, b: u32) {
        let (a, b) = (a as usize, b as usize);
        let squared = (sites.x[a] - sites.x[b]).powi(2) + (sites.y[a] - sites.y[b]).powi(2);
        let share = squared / (self.longest * self.longest);
        if !(share > 0.0 && share < 1.0) {
            return;
        }
        let class = ((share.cbrt() * CLASSES as f64) as usize).min(CLASSES - 1);
        self.counts[class] += 1.0;
        self.distances[class] += squared.sqrt();
        let (a, b) = (sites.source[a] as usize, sites.source[b] as usize);
        for (sums, values) in self.squares.iter_mut().zip(layers) {
            sums[class] += (values[a] - values[b]).powi(2);
        }
    }

    /// Weight, mean distance and semivariance of each class that holds pairs.
    fn rows(&self, layer: usize) -> Vec<Row> {
        (0..CLASSES)
            .filter(|&class| self.counts[class] > 0.0)
            .map(|class| {
                let count = self.counts[class];
                let distance = self.distances[class] / count;
                (
                    count / (distance * distance),
                    distance,
                    self.squares[layer][class] / count / 2.0,
                )
            })
            .collect()
    }
}
