//! Which fixes a budget buys: the set with the greatest severity relieved over the years that the fixes work, found exactly.
//!
//! What one fix leaves of a factor's severity the next can relieve in turn: two fixes that each take half leave a quarter. Each zone's
//! sets are thinned to those that no other set beats in cost and worth; the zones are then joined one by one, thinned again at each join.
//! A farm's budget is joined over fields by the same code.

use super::frontier::{self, Point as OnFrontier};

/// A fix for the budget.
#[derive(Debug, Clone)]
pub(super) struct Item {
    /// Cost in whole cents for the zone.
    pub cents: u64,
    /// The factors it mends.
    pub relieves: Vec<Relief>,
    /// The fixes, by position, that must be bought with it.
    pub needs: Vec<usize>,
}

/// What a fix takes off a factor.
#[derive(Debug, Clone, Copy)]
pub(super) struct Relief {
    pub factor: usize,
    /// Severity of the factor times the zone's area, as a whole number.
    pub severity: u64,
    /// Share of what is left of it that the fix takes off, 0 to 1.
    pub share: f64,
    /// Years that it does so, each by what it is worth today.
    pub lasts: f64,
}

/// The most fixes of a zone that are weighed against each other; further ones, last in the zone's order, are left out.
pub(super) const MOST_ITEMS: usize = 16;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Point {
    cents: u64,
    worth: u64,
    mask: u32,
}

/// For each zone, which of its items to buy within a number of cents.
pub(super) fn choose(zones: &[Vec<Item>], limit: u64) -> Vec<Vec<bool>> {
    let frontiers: Vec<Vec<Point>> = zones
        .iter()
        .map(|items| frontier_of_zone(items, limit))
        .collect();
    let lines: Vec<Vec<OnFrontier>> = frontiers.iter().map(|points| line(points)).collect();
    let best = frontier::best(&lines, limit, usize::MAX);
    zones
        .iter()
        .zip(frontiers.iter().zip(best.chosen))
        .map(|(items, (frontier, at))| {
            let mask = frontier.get(at).map_or(0, |point| point.mask);
            (0..items.len())
                .map(|at| at < MOST_ITEMS && mask >> at & 1 == 1)
                .collect()
        })
        .collect()
}

/// What each cost buys at best over some zones, from nothing up, not past a limit; with the most that its thinning can lose.
pub(super) fn frontier(zones: &[Vec<Item>], limit: u64, most: usize) -> (Vec<OnFrontier>, u64) {
    let lines: Vec<Vec<OnFrontier>> = zones
        .iter()
        .map(|items| line(&frontier_of_zone(items, limit)))
        .collect();
    frontier::sum(&lines, limit, most)
}

fn line(points: &[Point]) -> Vec<OnFrontier> {
    points
        .iter()
        .map(|point| OnFrontier {
            cents: point.cents,
            worth: point.worth,
        })
        .collect()
}

fn frontier_of_zone(items: &[Item], limit: u64) -> Vec<Point> {
    let items = &items[..items.len().min(MOST_ITEMS)];
    let mut points = Vec::new();
    for mask in 0..1_u32 << items.len() {
        let has = |at: usize| at < items.len() && mask >> at & 1 == 1;
        let chosen = || items.iter().enumerate().filter(|(at, _)| has(*at));
        if chosen().any(|(_, item)| item.needs.iter().any(|need| !has(*need))) {
            continue;
        }
        let cents: u64 = chosen().map(|(_, item)| item.cents).sum();
        if cents <= limit {
            points.push(Point {
                cents,
                worth: worth(chosen().map(|(_, item)| item)),
                mask,
            });
        }
    }
    thin(points)
}

/// Severity relieved, summed over the factors and the years that each fix works. While several work, each takes its share of what the others leave.
fn worth<'a>(items: impl Iterator<Item = &'a Item>) -> u64 {
    let mut reliefs: Vec<&Relief> = items.flat_map(|item| &item.relieves).collect();
    reliefs.sort_by(|a, b| a.factor.cmp(&b.factor).then(a.lasts.total_cmp(&b.lasts)));
    let of_factor = |reliefs: &[&Relief]| {
        let (mut worth, mut since) = (0.0, 0.0);
        for (at, relief) in reliefs.iter().enumerate() {
            let left: f64 = reliefs[at..]
                .iter()
                .map(|still| 1.0 - still.share)
                .product();
            worth += (relief.lasts - since) * relief.severity as f64 * (1.0 - left);
            since = relief.lasts;
        }
        worth.round() as u64
    };
    reliefs
        .chunk_by(|a, b| a.factor == b.factor)
        .map(of_factor)
        .sum()
}

/// The points that no other point beats, by rising cost; of equals the one with the fewest fixes, then the one with the earlier ones.
fn thin(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by(|a, b| {
        a.cents
            .cmp(&b.cents)
            .then(b.worth.cmp(&a.worth))
            .then(a.mask.count_ones().cmp(&b.mask.count_ones()))
            .then(a.mask.cmp(&b.mask))
    });
    let mut kept: Vec<Point> = Vec::new();
    for point in points {
        if kept.last().is_none_or(|last| point.worth > last.worth) {
            kept.push(point);
        }
    }
    kept
}

#[cfg(test)]
#[path = "budget_tests.rs"]
mod tests;
