//! What a machine says that it applied, on today's ground: each cell gets the rate of the nearest record within the reach of a record.

use std::collections::BTreeMap;

use crate::field::Field;
use crate::plan::Day;
use crate::zones::Zones;

/// Records that are asked how far their neighbours stand.
const ASKED: usize = 400;

/// The records of one log.
#[derive(Debug, Clone, PartialEq)]
pub struct AppliedPlaces {
    /// Name of the product.
    pub product: String,
    /// The season of the work.
    pub season: u16,
    /// The day of the work, where it is said.
    pub date: Option<Day>,
    /// The file.
    pub file: String,
    /// Working width of the machine, metres: a record covers at least half of it on either side.
    pub swath_m: f64,
    /// Metres east and north on the field's plane, and the rate there, kg/ha or L/ha.
    pub records: Vec<((f64, f64), f64)>,
}

/// What the logs of a product say of some ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AppliedRate {
    /// Mean over the ground, kg/ha or L/ha; ground that no record reaches got nothing.
    pub rate: f64,
    /// Share of the ground that records reach.
    pub share: f64,
}

impl AppliedPlaces {
    /// The rate in every cell of the grid; `None` where no record reaches it.
    #[must_use]
    pub fn on_cells(&self, field: &Field) -> Vec<Option<f64>> {
        let spacing = self.spacing();
        let reach = spacing.max(self.swath_m / 2.0).max(field.grid.cell / 2.0);
        let buckets = Buckets::new(&self.records, reach);
        let cells = field.grid.cells.iter();
        cells
            .map(|cell| {
                let nearest = buckets.nearest(&self.records, field.grid.centre(*cell), reach, None);
                nearest
                    .and_then(|(at, _)| self.records.get(at))
                    .map(|(_, rate)| *rate)
            })
            .collect()
    }

    /// The middle distance of a record to its nearest neighbour.
    fn spacing(&self) -> f64 {
        let count = self.records.len();
        let bounds = self.records.iter().fold(
            (
                f64::INFINITY,
                f64::INFINITY,
                f64::NEG_INFINITY,
                f64::NEG_INFINITY,
            ),
            |(west, south, east, north), ((x, y), _)| {
                (west.min(*x), south.min(*y), east.max(*x), north.max(*y))
            },
        );
        let area = (bounds.2 - bounds.0) * (bounds.3 - bounds.1);
        let wide = 2.0 * (area / count.max(1) as f64).max(0.0).sqrt();
        if !(wide.is_finite() && wide > 0.0) {
            return 0.0;
        }
        let buckets = Buckets::new(&self.records, wide);
        let step = (count / ASKED).max(1);
        let mut distances: Vec<f64> = (0..count)
            .step_by(step)
            .filter_map(|at| {
                let place = self.records.get(at)?.0;
                let (_, distance) = buckets.nearest(&self.records, place, wide, Some(at))?;
                (distance > 0.0).then_some(distance)
            })
            .collect();
        distances.sort_by(f64::total_cmp);
        distances
            .get(distances.len() / 2)
            .copied()
            .unwrap_or_default()
    }
}

/// Records by the square that they lie in.
struct Buckets {
    size: f64,
    squares: BTreeMap<(i64, i64), Vec<usize>>,
}

impl Buckets {
    fn new(records: &[((f64, f64), f64)], size: f64) -> Self {
        let mut squares: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
        for (at, (place, _)) in records.iter().enumerate() {
            squares.entry(square(*place, size)).or_default().push(at);
        }
        Self { size, squares }
    }

    /// The nearest record within a reach that is no longer than a square's side, with its distance.
    fn nearest(
        &self,
        records: &[((f64, f64), f64)],
        (x, y): (f64, f64),
        reach: f64,
        but: Option<usize>,
    ) -> Option<(usize, f64)> {
        let (column, row) = square((x, y), self.size);
        let mut best: Option<(usize, f64)> = None;
        for near in (-1..=1).flat_map(|i| (-1..=1).map(move |j| (column + i, row + j))) {
            for at in self.squares.get(&near).into_iter().flatten().copied() {
                let Some(((east, north), _)) = records.get(at).filter(|_| Some(at) != but) else {
                    continue;
                };
                let distance = (east - x).hypot(north - y);
                if distance <= reach && best.is_none_or(|(_, least)| distance < least) {
                    best = Some((at, distance));
                }
            }
        }
        best
    }
}

fn square((x, y): (f64, f64), size: f64) -> (i64, i64) {
    ((x / size).floor() as i64, (y / size).floor() as i64)
}

/// The rate of some cells over each part of the ground that `part_of` tells for a cell.
pub(super) fn by_part<P: Ord + Copy>(
    field: &Field,
    cells: &[Option<f64>],
    part_of: impl Fn(usize) -> Option<P>,
) -> BTreeMap<P, AppliedRate> {
    let mut sums: BTreeMap<P, (f64, f64, f64)> = BTreeMap::new();
    for (at, (rate, share)) in cells.iter().zip(&field.grid.share).enumerate() {
        let Some(part) = part_of(at) else { continue };
        let sum = sums.entry(part).or_default();
        let share = f64::from(*share);
        sum.0 += share;
        if let Some(rate) = rate {
            sum.1 += share;
            sum.2 += share * rate;
        }
    }
    let rate = |(all, reached, rates): (f64, f64, f64)| AppliedRate {
        rate: rates / all.max(f64::MIN_POSITIVE),
        share: reached / all.max(f64::MIN_POSITIVE),
    };
    sums.into_iter()
        .map(|(part, sum)| (part, rate(sum)))
        .collect()
}

/// The rate of a log in each of `Zones::zones`.
pub(super) fn by_zone(field: &Field, zones: &Zones, cells: &[Option<f64>]) -> Vec<AppliedRate> {
    let found = by_part(field, cells, |at| zones.of_cell.get(at).copied());
    let nothing = AppliedRate {
        rate: 0.0,
        share: 0.0,
    };
    (0..zones.zones.len())
        .map(|zone| {
            let zone = u16::try_from(zone).ok();
            zone.and_then(|zone| found.get(&zone).copied())
                .unwrap_or(nothing)
        })
        .collect()
}
