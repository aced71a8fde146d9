//! The nearest sites where many lie close: a box of shelves round the point is looked through, with no tree to climb.
//!
//! It gives up where the shelves are badly filled (a cluster, a far corner); then the tree is asked.

use super::neighbours::TIE;
use super::sites::Sites;

/// Rows of shelves that a box may span.
const MOST_ROWS: usize = 48;
/// Sizes of box that are tried for one point.
const MOST_TRIES: usize = 6;
/// Cuts that are tried before ties are suspected.
const MOST_CUTS: usize = 24;

/// Finds the nearest of one point after the other; the reach of one is the guess for the next.
pub(super) struct ShelfSearch<'s> {
    sites: &'s Sites,
    count: usize,
    reach: f64,
    squared: Vec<f64>,
    ranges: Vec<(u32, u32)>,
}

/// What a search found.
pub(super) enum Nearest {
    /// Exactly so many sites, none of which ties with one left out.
    Exactly,
    /// Sites tie for the last place, or the box was no help: the tree has to be asked.
    AskTheTree,
}

impl<'s> ShelfSearch<'s> {
    /// For the `count` nearest.
    pub(super) fn of(sites: &'s Sites, count: usize) -> Self {
        // As many as wanted, were they spread evenly; a shelf holds a few.
        let reach = sites.shelves.side * (count as f64 / 2.0).sqrt().max(1.0);
        Self { sites, count, reach, squared: Vec::new(), ranges: Vec::new() }
    }

    /// Puts the nearest sites of a point, by rising site, with their squared distances into `site` and `squared`.
    pub(super) fn find(&mut self, x: f64, y: f64, site: &mut Vec<u32>, squared: &mut Vec<f64>) -> Nearest {
        if self.count >= self.sites.len() {
            return Nearest::AskTheTree;
        }
        for _ in 0..MOST_TRIES {
            let Some(total) = self.box_round(x, y) else { return Nearest::AskTheTree };
            if total < self.count {
                let short = (1.5 * self.count as f64 / total.max(1) as f64).sqrt();
                self.reach *= short.clamp(1.3, 3.0);
                continue;
            }
            if total > 8 * self.count + 64 {
                self.reach *= (2.0 * self.count as f64 / total as f64).sqrt();
                continue;
            }
            self.measure(x, y);
            let Some((last, next)) = cut(&self.squared, self.count, self.reach * self.reach) else { return Nearest::AskTheTree };
            if last * (1.0 + 2.0 * TIE) > self.reach * self.reach {
                self.reach = last.sqrt() * (1.0 + 1e-6);
                continue;
            }
            self.reach = last.sqrt() * 1.1;
            if next <= last * (1.0 + TIE) {
                return Nearest::AskTheTree;
            }
            self.take(last, site, squared);
            return Nearest::Exactly;
        }
        Nearest::AskTheTree
    }

    /// Ranges of sites on the shelves that a box touches, and how many sites that is. `None` where it spans too much.
    fn box_round(&mut self, x: f64, y: f64) -> Option<usize> {
        let shelves = &self.sites.shelves;
        let (west, east) = (shelves.column(x - self.reach), shelves.column(x + self.reach));
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

    fn take(&self, last: f64, site: &mut Vec<u32>, squared: &mut Vec<f64>) {
        // One more than wanted, so that the write before the test is always inside.
        site.clear();
        site.resize(self.count + 1, 0);
        squared.clear();
        squared.resize(self.count + 1, 0.0);
        let (mut taken, mut at) = (0, 0);
        for &(start, end) in &self.ranges {
            for s in start..end {
                let distance = self.squared[at];
                site[taken] = s;
                squared[taken] = distance;
                taken += usize::from(distance <= last);
                at += 1;
            }
        }
        site.truncate(self.count);
        squared.truncate(self.count);
    }
}

/// The `count`-th smallest number and the one after it (infinite where there is none). `None` where ties hide the cut.
fn cut(numbers: &[f64], count: usize, guess: f64) -> Option<(f64, f64)> {
    let (mut low, mut below) = (0.0, 0);
    let (mut high, mut above) = (guess * 2.0, numbers.len());
    let mut at = guess * 0.8;
    for _ in 0..MOST_CUTS {
        let here = numbers.iter().map(|&n| u64::from(n <= at)).sum::<u64>() as usize;
        if here == count {
            return Some(numbers.iter().fold((0.0, f64::INFINITY), |(last, next): (f64, f64), &n| {
                (if n <= at && n > last { n } else { last }, if n > at && n < next { n } else { next })
            }));
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
    None
}
