//! The nearest sites where many lie close: a box of shelves round the point is looked through, with no tree to climb.
//!
//! It gives up where the shelves are badly filled (a cluster, a far corner); then the tree is asked.

use super::sites::Sites;

/// Squared distances that differ by less than this share count as equal: no coordinate is known to a hundredth of a
/// micrometre, and a regular grid of cores is all ties that only rounding breaks.
pub(super) const TIE: f64 = 1e-10;

/// Rows of shelves that a box may span.
const MOST_ROWS: usize = 48;
/// Sites that a box may hold.
const MOST_IN_A_BOX: usize = 30_000;
/// Sizes of box that are tried for one point.
const MOST_TRIES: usize = 16;
/// Cuts that are tried before ties are suspected.
const MOST_CUTS: usize = 24;

/// Finds the nearest of one point after the other; the reach of one is the guess for the next.
pub(super) struct GridIndex<'s> {
    sites: &'s Sites,
    reach: f64,
    squared: Vec<f64>,
    ranges: Vec<(u32, u32)>,
}

/// What a search found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Nearest {
    /// Exactly so many sites, none of which ties with one left out.
    Exactly,
    /// Some more sites, since several tie for the last place.
    WithTies,
    /// The box was no help: the tree has to be asked.
    AskTheTree,
}

impl<'s> GridIndex<'s> {
    /// Over sites; `count` is about how many nearest will be asked for.
    pub(super) fn new(sites: &'s Sites, count: usize) -> Self {
        // As many as wanted, were they spread evenly; a shelf holds a few.
        let reach = sites.shelves.side * (count as f64 / 2.0).sqrt().max(1.0);
        Self {
            sites,
            reach,
            squared: Vec::new(),
            ranges: Vec::new(),
        }
    }

    /// Puts the `count` nearest sites of a point, by rising site, with their squared distances into `site` and `squared`.
    #[inline]
    pub(super) fn find(
        &mut self,
        x: f64,
        y: f64,
        count: usize,
        site: &mut Vec<u32>,
        squared: &mut Vec<f64>,
    ) -> Nearest {
        if count >= self.sites.len() {
            return Nearest::AskTheTree;
        }
        // Once a box is known to be too small, a large one is not shrunk again.
        let mut is_enough = false;
        for _ in 0..MOST_TRIES {
            let Some(total) = self.box_round(x, y) else {
                return Nearest::AskTheTree;
            };
            if total <= count {
                let short = (1.5 * count as f64 / total.max(1) as f64).sqrt();
                self.reach *= short.clamp(1.3, 3.0);
                is_enough = true;
                continue;
            }
            if total > MOST_IN_A_BOX {
                return Nearest::AskTheTree;
            }
            if total > 8 * count + 64 && !is_enough {
                self.reach *= (2.0 * count as f64 / total as f64).sqrt();
                continue;
            }
            self.measure(x, y);
            let (last, next) = cut(&self.squared, count, self.reach * self.reach);
            if last * (1.0 + 2.0 * TIE) > self.reach * self.reach {
                self.reach = last.sqrt() * (1.0 + 1e-6);
                is_enough = true;
                continue;
            }
            self.reach = last.sqrt() * 1.1;
            if next > last * (1.0 + TIE) {
                self.take(last, count, site, squared);
                return Nearest::Exactly;
            }
            let limit = last * (1.0 + TIE);
            self.take(
                limit,
                self.squared.iter().filter(|s| **s <= limit).count(),
                site,
                squared,
            );
            return Nearest::WithTies;
        }
        Nearest::AskTheTree
    }

    /// Ranges of sites on the shelves that a box touches, and how many sites that is. `None` where it spans too much.
    #[inline]
    fn box_round(&mut self, x: f64, y: f64) -> Option<usize> {
        let shelves = &self.sites.shelves;
        let (west, east) = (
            shelves.column(x - self.reach),
            shelves.column(x + self.reach),
        );
        let (south, north) = (shelves.row(y - self.reach), shelves.row(y + self.reach));
        self.ranges.clear();
        if north - south >= MOST_ROWS {
            return None;
        }
        let mut total = 0;
        for row in south..=north {
            let at = row * shelves.columns;
            let range = (shelves.starts[at + west], shelves.starts[at + east + 1]);
            total += (range.1 - range.0) as usize;
            self.ranges.push(range);
        }
        Some(total)
    }

    #[inline]
    fn measure(&mut self, x: f64, y: f64) {
        self.squared.clear();
        for &(start, end) in &self.ranges {
            let range = start as usize..end as usize;
            let (xs, ys) = (&self.sites.x[range.clone()], &self.sites.y[range]);
            self.squared.extend(xs.iter().zip(ys).map(|(sx, sy)| {
                let (dx, dy) = (sx - x, sy - y);
                dx * dx + dy * dy
            }));
        }
    }

    /// The sites within a limit, of which there are `count`.
    #[inline]
    fn take(&self, limit: f64, count: usize, site: &mut Vec<u32>, squared: &mut Vec<f64>) {
        // One more than wanted, so that the write before the test is always inside.
        site.resize(count + 1, 0);
        squared.resize(count + 1, 0.0);
        let mut taken = 0;
        let mut distances = self.squared.iter();
        for &(start, end) in &self.ranges {
            for (s, &distance) in (start..end).zip(&mut distances) {
                let at = taken.min(count);
                site[at] = s;
                squared[at] = distance;
                taken += usize::from(distance <= limit);
            }
        }
        site.truncate(count);
        squared.truncate(count);
    }
}

/// The `count`-th smallest number and the one after it. There must be more numbers than `count`.
#[inline]
fn cut(numbers: &[f64], count: usize, guess: f64) -> (f64, f64) {
    let (mut low, mut below) = (0.0, 0);
    let (mut high, mut above) = (guess * 2.0, numbers.len());
    let mut at = guess * 0.8;
    for _ in 0..MOST_CUTS {
        let here = numbers.iter().map(|&n| u64::from(n <= at)).sum::<u64>() as usize;
        if here == count {
            return last_and_next(numbers, at);
        }
        if here < count {
            (low, below) = (at, here);
        } else {
            (high, above) = (at, here);
        }
        // Squared distances grow evenly with their rank where sites are spread evenly.
        let share = (count as f64 - below as f64 + 0.5) / (above.max(below + 1) - below) as f64;
        at = low + (high - low) * share.clamp(0.1, 0.9);
    }
    // Ties hide the cut, or it lies far out.
    cut_by_sorting(numbers, count)
}

/// The greatest number within a limit and the least beyond it, four at a time.
#[inline]
fn last_and_next(numbers: &[f64], limit: f64) -> (f64, f64) {
    let (mut last, mut next) = ([0.0; 4], [f64::INFINITY; 4]);
    let mut look = |i: usize, n: f64| {
        let (inside, outside) = if n <= limit {
            (n, f64::INFINITY)
        } else {
            (0.0, n)
        };
        last[i] = if inside > last[i] { inside } else { last[i] };
        next[i] = if outside < next[i] { outside } else { next[i] };
    };
    let fours = numbers.chunks_exact(4);
    let rest = fours.remainder();
    for four in fours {
        for (i, &n) in four.iter().enumerate() {
            look(i, n);
        }
    }
    for &n in rest {
        look(0, n);
    }
    (
        last.into_iter().fold(0.0, f64::max),
        next.into_iter().fold(f64::INFINITY, f64::min),
    )
}

#[cold]
fn cut_by_sorting(numbers: &[f64], count: usize) -> (f64, f64) {
    let mut sorted = numbers.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    (sorted[count - 1], sorted[count])
}
