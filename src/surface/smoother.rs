//! The one place where left-out places are predicted: from their neighbours' values, for every power, count and with or without
//! a plane, many columns of values at once. Tuning, skill and permutation test all use it.

use nalgebra::Matrix3;

use super::inverse_distance::{AT_THE_PLACE, Power, inner_and_rim};
use super::left_out::LeftOut;
use super::neighbours::Neighbour;
use super::sites::Sites;
use super::tuning_table::Table;

/// Columns of values that are predicted at once.
pub(super) const LANES: usize = 8;
/// One number for each column.
pub(super) type Lanes = [f64; LANES];

/// Running sums of a place: two for each count, of which a table has at most four.
const MOST_STOPS: usize = 8;

/// A place's sites as rows of a plane: 1, east, north, both centred and scaled.
type PlaneRow = [f64; 3];

/// Sums of squared errors of every entry of the table, by column.
pub(super) struct Squares {
    /// Of plain inverse distance.
    pub plain: Vec<Lanes>,
    /// With the plane; empty where none may be taken.
    pub plane: Vec<Lanes>,
}

/// Everything about the left-out places that does not hang on the values.
pub(super) struct Smoother {
    entries: usize,
    counts: usize,
    places: Vec<PlaceRow>,
    near: Vec<u32>,
    weights: Vec<f64>,
    /// One over the sum of the weights, by place and entry.
    norms: Vec<f64>,
    plane: Option<PlanePart>,
}

struct PlaceRow {
    site: u32,
    start: usize,
    length: usize,
    /// Where running sums are taken, rising.
    stops: Vec<usize>,
    /// For each count: positions in `stops`, and the share of the rim.
    cuts: Vec<(usize, usize, f64)>,
}

struct PlanePart {
    rows: Vec<PlaneRow>,
    /// By place and entry: what the sums of `row x value` over the kept sites are multiplied with.
    coefficients: Vec<PlaneRow>,
    /// By place: the sites that its plane does without.
    left_out: Vec<Vec<u32>>,
}

impl Smoother {
    /// Over the matched neighbours of the places left out. `may_tilt` allows the plane.
    pub(super) fn new(table: &Table, left_out: &LeftOut, sites: &Sites, may_tilt: bool) -> Self {
        let mut made = Self {
            entries: table.powers.len() * table.counts.len(),
            counts: table.counts.len(),
            places: Vec::with_capacity(left_out.len()),
            near: Vec::new(),
            weights: Vec::new(),
            norms: Vec::new(),
            plane: None,
        };
        for place in 0..left_out.len() {
            made.add_place(table, left_out.sites[place], left_out.matched(place));
        }
        if may_tilt {
            made.plane = made.plane_part(left_out, sites);
        }
        made
    }

    fn add_place(&mut self, table: &Table, site: u32, near: &[Neighbour]) {
        let cuts: Vec<_> = table.counts.iter().map(|&count| cut(near, count)).collect();
        let mut stops: Vec<usize> = cuts
            .iter()
            .flat_map(|&(inner, rim, _)| [inner, inner + rim])
            .collect();
        stops.sort_unstable();
        stops.dedup();
        let length = stops.last().copied().unwrap_or(0);
        let at = |stop: usize| stops.partition_point(|&other| other < stop);
        let cuts = cuts
            .iter()
            .map(|&(inner, rim, share)| (at(inner), at(inner + rim), share))
            .collect();
        let start = self.weights.len();
        self.near.extend(near[..length].iter().map(|n| n.site));
        let nearest = near.first().map_or(1.0, |n| n.squared.max(AT_THE_PLACE));
        let row = PlaceRow {
            site,
            start,
            length,
            stops,
            cuts,
        };
        for &power in &table.powers {
            let weight =
                |n: &Neighbour| Power(power).of_ratio(nearest / n.squared.max(AT_THE_PLACE));
            let first = self.weights.len();
            self.weights.extend(near[..length].iter().map(weight));
            let mut sums = vec![0.0; row.stops.len()];
            let (mut sum, mut taken) = (0.0, 0);
            for (stop, at_stop) in row.stops.iter().zip(&mut sums) {
                sum += self.weights[first + taken..first + stop]
                    .iter()
                    .sum::<f64>();
                taken = *stop;
                *at_stop = sum;
            }
            self.norms.extend(
                row.cuts
                    .iter()
                    .map(|&(inner, rim, share)| 1.0 / between(sums[inner], sums[rim], share)),
            );
        }
        self.places.push(row);
    }

    /// Where each place's neighbours start in `near`: its weights hold one run of them for each power.
    fn near_of(&self, place: usize) -> &[u32] {
        let powers = self.entries / self.counts;
        let row = &self.places[place];
        &self.near[row.start / powers..row.start / powers + row.length]
    }

    /// Sums of squared errors for columns of values by site.
    pub(super) fn squares(&self, columns: &[Lanes]) -> Squares {
        let mut squares = Squares {
            plain: vec![[0.0; LANES]; self.entries],
            plane: vec![[0.0; LANES]; self.plane.as_ref().map_or(0, |_| self.entries)],
        };
        let mut predicted = vec![[0.0; LANES]; self.entries];
        let sums = self.plane.as_ref().map(|plane| plane.sums(columns));
        for (place, row) in self.places.iter().enumerate() {
            self.predict(place, columns, &mut predicted);
            let observed = &columns[row.site as usize];
            for (sum, predicted) in squares.plain.iter_mut().zip(&predicted) {
                for lane in 0..LANES {
                    let error = predicted[lane] - observed[lane];
                    sum[lane] += error * error;
                }
            }
            if let (Some(plane), Some(sums)) = (&self.plane, &sums) {
                plane.tilt(place, sums, columns, &mut predicted);
                for (sum, predicted) in squares.plane.iter_mut().zip(&predicted) {
                    for lane in 0..LANES {
                        let error = predicted[lane] - observed[lane];
                        sum[lane] += error * error;
                    }
                }
            }
        }
        squares
    }

    /// The prediction of every place by one entry.
    pub(super) fn predictions(&self, columns: &[Lanes], entry: usize, tilted: bool) -> Vec<Lanes> {
        let mut predicted = vec![[0.0; LANES]; self.entries];
        let plane = self.plane.as_ref().filter(|_| tilted);
        let sums = plane.map(|plane| plane.sums(columns));
        (0..self.places.len())
            .map(|place| {
                self.predict(place, columns, &mut predicted);
                if let (Some(plane), Some(sums)) = (plane, &sums) {
                    plane.tilt(place, sums, columns, &mut predicted);
                }
                predicted[entry]
            })
            .collect()
    }

    #[inline]
    fn predict(&self, place: usize, columns: &[Lanes], predicted: &mut [Lanes]) {
        let row = &self.places[place];
        let near = self.near_of(place);
        let mut at_stops = [[0.0; LANES]; MOST_STOPS];
        for power in 0..self.entries / self.counts {
            let start = row.start + power * row.length;
            let weights = &self.weights[start..start + row.length];
            let mut running = [0.0; LANES];
            let mut taken = 0;
            for (stop, at_stop) in row.stops.iter().zip(&mut at_stops) {
                for (weight, &site) in weights[taken..*stop].iter().zip(&near[taken..*stop]) {
                    let values = &columns[site as usize];
                    for lane in 0..LANES {
                        running[lane] += weight * values[lane];
                    }
                }
                taken = *stop;
                *at_stop = running;
            }
            for (count, &(inner, rim, share)) in row.cuts.iter().enumerate() {
                let entry = power * self.counts + count;
                let norm = self.norms[place * self.entries + entry];
                for lane in 0..LANES {
                    predicted[entry][lane] =
                        between(at_stops[inner][lane], at_stops[rim][lane], share) * norm;
                }
            }
        }
    }

    /// The plane's part. `None` where a place's plane cannot be fitted, as on a straight transect.
    fn plane_part(&self, left_out: &LeftOut, sites: &Sites) -> Option<PlanePart> {
        let rows = plane_rows(sites);
        let mut columns = vec![[0.0; LANES]; rows.len()];
        for (column, row) in columns.iter_mut().zip(&rows) {
            column[..3].copy_from_slice(row);
        }
        let whole = gram(rows.iter());
        let mut predicted = vec![[0.0; LANES]; self.entries];
        let (mut coefficients, mut without) = (Vec::new(), Vec::new());
        for (place, row) in self.places.iter().enumerate() {
            let left = left_out.without(place, sites);
            let kept = whole - gram(left.iter().map(|&site| &rows[site as usize]));
            let inverse = kept
                .try_inverse()
                .filter(|_| kept.determinant() > 1e-6 * kept[(0, 0)].powi(3))?;
            self.predict(place, &columns, &mut predicted);
            let own = rows[row.site as usize];
            coefficients.extend(predicted.iter().map(|mean| {
                let off =
                    nalgebra::RowVector3::new(own[0] - mean[0], own[1] - mean[1], own[2] - mean[2]);
                let product = off * inverse;
                [product[0], product[1], product[2]]
            }));
            without.push(left);
        }
        Some(PlanePart {
            rows,
            coefficients,
            left_out: without,
        })
    }
}

impl PlanePart {
    /// Sums of `row x value` over all sites.
    fn sums(&self, columns: &[Lanes]) -> [Lanes; 3] {
        let mut sums = [[0.0; LANES]; 3];
        for (row, values) in self.rows.iter().zip(columns) {
            add(&mut sums, row, values, 1.0);
        }
        sums
    }

    /// Adds to a place's predictions what the plane through the other sites says of the place against its neighbours.
    #[inline]
    fn tilt(&self, place: usize, all: &[Lanes; 3], columns: &[Lanes], predicted: &mut [Lanes]) {
        let mut sums = *all;
        for &site in &self.left_out[place] {
            add(
                &mut sums,
                &self.rows[site as usize],
                &columns[site as usize],
                -1.0,
            );
        }
        let start = place * predicted.len();
        for (predicted, by) in predicted.iter_mut().zip(&self.coefficients[start..]) {
            for lane in 0..LANES {
                predicted[lane] +=
                    by[0] * sums[0][lane] + by[1] * sums[1][lane] + by[2] * sums[2][lane];
            }
        }
    }
}

#[inline]
fn add(sums: &mut [Lanes; 3], row: &PlaneRow, values: &Lanes, sign: f64) {
    for (sum, term) in sums.iter_mut().zip(row) {
        for lane in 0..LANES {
            sum[lane] += sign * term * values[lane];
        }
    }
}

/// Every site as a row of a plane, centred and scaled so that no field is too large for the arithmetic.
fn plane_rows(sites: &Sites) -> Vec<PlaneRow> {
    let n = sites.len() as f64;
    let mean = |numbers: &[f64]| numbers.iter().sum::<f64>() / n;
    let (x, y) = (mean(&sites.x), mean(&sites.y));
    let spread = sites
        .x
        .iter()
        .zip(&sites.y)
        .map(|(a, b)| (a - x).powi(2) + (b - y).powi(2))
        .sum::<f64>();
    let scale = (spread / n).sqrt().max(f64::MIN_POSITIVE);
    sites
        .x
        .iter()
        .zip(&sites.y)
        .map(|(a, b)| [1.0, (a - x) / scale, (b - y) / scale])
        .collect()
}

fn gram<'r>(rows: impl Iterator<Item = &'r PlaneRow>) -> Matrix3<f64> {
    rows.fold(Matrix3::zeros(), |sum, row| {
        let row = nalgebra::Vector3::from(*row);
        sum + row * row.transpose()
    })
}

/// Between the sum without the rim and the sum with it.
#[inline]
fn between(inside: f64, with_rim: f64, share: f64) -> f64 {
    inside + share * (with_rim - inside)
}

/// How many neighbours lie within a count, how many tie for its last place, and the share that each of those has.
fn cut(near: &[Neighbour], count: usize) -> (usize, usize, f64) {
    let Some(last) = count.min(near.len()).checked_sub(1) else {
        return (0, 0, 0.0);
    };
    let (inner, rim) = inner_and_rim(near.iter().map(|n| n.squared), near[last].squared);
    (inner, rim, (last + 1 - inner) as f64 / rim as f64)
}
