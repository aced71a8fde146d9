//! Observations in an order of their own, so that neither the order of rows nor that of tables can change a result.

use std::borrow::Cow;

use rayon::prelude::*;

use super::joined::Group;

/// Observations per square of the sorting grid, on average.
const PER_SHELF: f64 = 1.5;

/// Observations per piece of parallel work.
const PIECE: usize = 1 << 14;

/// A grid of squares over all observations; those of one square lie side by side in memory.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shelves {
    /// West edge, metres.
    pub west: f64,
    /// South edge, metres.
    pub south: f64,
    /// Side of a square, metres.
    pub side: f64,
    /// Number of columns.
    pub columns: usize,
    /// Number of rows.
    pub rows: usize,
    /// First site of each square, row-major from the south-west, and the end of the last.
    pub starts: Vec<u32>,
}

impl Shelves {
    fn over(x: &[f64], y: &[f64], used: &[u32]) -> Self {
        let range = |numbers: &[f64]| {
            let of_piece = |piece: &[u32]| {
                let values = piece.iter().map(|&i| numbers[i as usize]);
                values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
                    (low.min(value), high.max(value))
                })
            };
            let pieces = used.par_chunks(PIECE).map(of_piece);
            pieces.reduce(
                || (f64::INFINITY, f64::NEG_INFINITY),
                |one, other| (one.0.min(other.0), one.1.max(other.1)),
            )
        };
        let ((west, east), (south, north)) = (range(x), range(y));
        let (width, height, shelves) = (
            (east - west).max(0.0),
            (north - south).max(0.0),
            (used.len() as f64 / PER_SHELF).max(1.0),
        );
        // A transect has no area: then its length is divided.
        let side = (width * height / shelves)
            .sqrt()
            .max(width.max(height) / shelves)
            .max(f64::MIN_POSITIVE);
        let steps = |length: f64| {
            if length > 0.0 {
                (length / side) as usize + 1
            } else {
                1
            }
        };
        Self {
            west,
            south,
            side,
            columns: steps(width),
            rows: steps(height),
            starts: Vec::new(),
        }
    }

    /// Column of a coordinate, held inside the grid.
    pub(super) fn column(&self, x: f64) -> usize {
        (((x - self.west) / self.side).max(0.0) as usize).min(self.columns - 1)
    }

    /// Row of a coordinate, held inside the grid.
    pub(super) fn row(&self, y: f64) -> usize {
        (((y - self.south) / self.side).max(0.0) as usize).min(self.rows - 1)
    }

    fn shelf(&self, x: f64, y: f64) -> usize {
        self.row(y) * self.columns + self.column(x)
    }
}

/// The observations of a group, sorted square by square and within a square by coordinates. Observations at the very
/// same place lie side by side.
pub(super) struct Sites {
    /// Metres east.
    pub x: Vec<f64>,
    /// Metres north.
    pub y: Vec<f64>,
    /// The observation behind each site.
    pub source: Vec<u32>,
    /// The sorting grid.
    pub shelves: Shelves,
    /// First site of every distinct place; `None` where no two observations share one.
    firsts: Option<Vec<u32>>,
    /// The observations of every place that has several.
    shared: Vec<Vec<u32>>,
}

impl Sites {
    /// Sorts the usable observations of a group, which are handed in by rising number.
    ///
    /// Of more than `most_votes` observations at one place only so many are kept: where so many nearest are asked for,
    /// more of them at one distance cannot change the answer, but a file with a million rows at one place would be slow.
    pub(super) fn new(group: &Group<'_>, used: Vec<u32>, most_votes: usize) -> Self {
        let mut shelves = Shelves::over(&group.x, &group.y, &used);
        let (source, x, y) = shelve(&mut shelves, &group.x, &group.y, used);
        let mut sites = Self {
            x,
            y,
            source,
            shelves,
            firsts: None,
            shared: Vec::new(),
        };
        sites.find_shared(most_votes.max(1));
        sites
    }

    /// How many sites there are.
    pub(super) fn len(&self) -> usize {
        self.x.len()
    }

    /// Sites per square metre of the rectangle that holds them; infinite where it has no area.
    pub(super) fn per_square_metre(&self) -> f64 {
        let shelves = &self.shelves;
        let area = (shelves.columns * shelves.rows) as f64 * shelves.side * shelves.side;
        self.len() as f64 / area
    }

    /// How many distinct places there are.
    pub(super) fn places(&self) -> usize {
        self.firsts.as_ref().map_or(self.len(), Vec::len)
    }

    /// First site of the n-th place.
    pub(super) fn place(&self, n: usize) -> usize {
        self.firsts.as_ref().map_or(n, |firsts| firsts[n] as usize)
    }

    /// Observations at places that hold more than one, and the number of those places.
    pub(super) fn coincident(&self) -> (usize, usize) {
        (self.shared.iter().map(Vec::len).sum(), self.shared.len())
    }

    /// Values by observation, where observations at one place all carry their mean.
    pub(super) fn averaged<'v>(&self, values: &'v [f64]) -> Cow<'v, [f64]> {
        let mut averaged = Cow::Borrowed(values);
        for members in &self.shared {
            let mut there: Vec<f64> = members.iter().map(|&i| values[i as usize]).collect();
            there.sort_unstable_by(f64::total_cmp);
            // The mean of equal numbers is that number, whatever rounding does to their sum.
            let (low, high) = (there[0], there[there.len() - 1]);
            let mean = (there.iter().sum::<f64>() / there.len() as f64).clamp(low, high);
            for &i in members {
                averaged.to_mut()[i as usize] = mean;
            }
        }
        averaged
    }

    fn find_shared(&mut self, most_votes: usize) {
        let same = |a: usize, b: usize| self.x[a] == self.x[b] && self.y[a] == self.y[b];
        if !(1..self.len()).any(|i| same(i, i - 1)) {
            return;
        }
        let (mut firsts, mut kept, mut shared) = (Vec::new(), Vec::new(), Vec::new());
        let mut first = 0;
        while first < self.len() {
            let end = (first + 1..self.len())
                .find(|&i| !same(i, first))
                .unwrap_or(self.len());
            firsts.push(kept.len() as u32);
            kept.extend(first as u32..end.min(first.saturating_add(most_votes)) as u32);
            if end - first > 1 {
                shared.push(self.source[first..end].to_vec());
            }
            first = end;
        }
        self.keep(&kept);
        self.firsts = Some(firsts);
        self.shared = shared;
    }

    fn keep(&mut self, kept: &[u32]) {
        if kept.len() == self.len() {
            return;
        }
        for start in &mut self.shelves.starts {
            *start = kept.partition_point(|k| k < start) as u32;
        }
        self.x = kept.iter().map(|&i| self.x[i as usize]).collect();
        self.y = kept.iter().map(|&i| self.y[i as usize]).collect();
        self.source = kept.iter().map(|&i| self.source[i as usize]).collect();
    }
}

/// Fills the grid by counting, then sorts each square by coordinates. Gives the observation behind each site and its coordinates.
fn shelve(
    shelves: &mut Shelves,
    x: &[f64],
    y: &[f64],
    used: Vec<u32>,
) -> (Vec<u32>, Vec<f64>, Vec<f64>) {
    let shelf: Vec<u32> = used
        .par_iter()
        .map(|&i| shelves.shelf(x[i as usize], y[i as usize]) as u32)
        .collect();
    let mut starts = vec![0u32; shelves.columns * shelves.rows + 1];
    for &at in &shelf {
        starts[at as usize + 1] += 1;
    }
    for at in 1..starts.len() {
        starts[at] += starts[at - 1];
    }
    let mut source = vec![0u32; used.len()];
    for (&i, &at) in used.iter().zip(&shelf) {
        let next = &mut starts[at as usize];
        source[*next as usize] = i;
        *next += 1;
    }
    drop((used, shelf));
    // Every start has moved on to the start of the square after it.
    starts.rotate_right(1);
    starts[0] = 0;
    let (mut east, mut north) = (vec![0.0; source.len()], vec![0.0; source.len()]);
    let mut rows = Vec::with_capacity(shelves.rows);
    let mut rest = (
        source.as_mut_slice(),
        east.as_mut_slice(),
        north.as_mut_slice(),
    );
    for row in 0..shelves.rows {
        let starts = &starts[row * shelves.columns..=(row + 1) * shelves.columns];
        let length = (starts[shelves.columns] - starts[0]) as usize;
        let (source, x, y) = (
            rest.0.split_at_mut(length),
            rest.1.split_at_mut(length),
            rest.2.split_at_mut(length),
        );
        rows.push((starts, source.0, x.0, y.0));
        rest = (source.1, x.1, y.1);
    }
    rows.into_par_iter()
        .for_each(|(starts, source, east, north)| sort_row(starts, (source, east, north), x, y));
    shelves.starts = starts;
    (source, east, north)
}

/// Sorts every square of one row by coordinates.
fn sort_row(
    starts: &[u32],
    (source, east, north): (&mut [u32], &mut [f64], &mut [f64]),
    x: &[f64],
    y: &[f64],
) {
    let mut shelf: Vec<(f64, f64, u32)> = Vec::new();
    for ends in starts.windows(2) {
        let range = (ends[0] - starts[0]) as usize..(ends[1] - starts[0]) as usize;
        shelf.clear();
        shelf.extend(
            source[range.clone()]
                .iter()
                .map(|&i| (x[i as usize], y[i as usize], i)),
        );
        if shelf.len() > 1 {
            shelf.sort_unstable_by(|a, b| {
                a.0.total_cmp(&b.0)
                    .then(a.1.total_cmp(&b.1))
                    .then(a.2.cmp(&b.2))
            });
        }
        for (at, &(x, y, i)) in range.zip(&shelf) {
            (source[at], east[at], north[at]) = (i, x, y);
        }
    }
}
