//! Which fixes a budget buys: the set with the greatest severity relieved, found exactly.
//!
//! A set in one zone is worth, for each factor, the most that any of its fixes relieves. Each zone's sets are thinned to those that no
//! other set beats in cost and worth; the zones are then joined one by one, thinned again at each join.

/// A fix for the budget: cost in whole cents for the zone, worth by factor, and the fixes (by position) that it needs.
#[derive(Debug, Clone)]
pub(super) struct Item {
    pub cents: u64,
    pub relieves: Vec<(usize, u64)>,
    pub needs: Vec<usize>,
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
    let frontiers: Vec<Vec<Point>> = zones.iter().map(|items| frontier_of_zone(items, limit)).collect();
    let masks = join(&frontiers, limit);
    zones.iter().zip(masks).map(|(items, mask)| (0..items.len()).map(|at| at < MOST_ITEMS && mask >> at & 1 == 1).collect()).collect()
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
            points.push(Point { cents, worth: worth(chosen().map(|(_, item)| item)), mask });
        }
    }
    thin(points)
}

/// For each factor the most that any fix relieves.
fn worth<'a>(items: impl Iterator<Item = &'a Item>) -> u64 {
    let mut best: Vec<(usize, u64)> = Vec::new();
    for &(factor, relief) in items.flat_map(|item| &item.relieves) {
        match best.iter_mut().find(|(known, _)| *known == factor) {
            Some((_, most)) => *most = (*most).max(relief),
            None => best.push((factor, relief)),
        }
    }
    best.iter().map(|(_, relief)| relief).sum()
}

/// The points that no other point beats, by rising cost; of equals the one with the fewest fixes, then the one with the earlier ones.
fn thin(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by(|a, b| {
        a.cents.cmp(&b.cents).then(b.worth.cmp(&a.worth)).then(a.mask.count_ones().cmp(&b.mask.count_ones())).then(a.mask.cmp(&b.mask))
    });
    let mut kept: Vec<Point> = Vec::new();
    for point in points {
        if kept.last().is_none_or(|last| point.worth > last.worth) {
            kept.push(point);
        }
    }
    kept
}

/// One set for each zone: the joint best within the limit.
fn join(frontiers: &[Vec<Point>], limit: u64) -> Vec<u32> {
    // Each stage remembers where its point came from: (position in the stage before, mask of the zone).
    let mut stages: Vec<Vec<(u64, u64, usize, u32)>> = vec![vec![(0, 0, 0, 0)]];
    for frontier in frontiers {
        let Some(before) = stages.last() else { break };
        let mut joined: Vec<(u64, u64, usize, u32)> = Vec::with_capacity(before.len() * frontier.len());
        for (position, point) in before.iter().enumerate() {
            let affordable = frontier.iter().take_while(|zone| point.0 + zone.cents <= limit);
            joined.extend(affordable.map(|zone| (point.0 + zone.cents, point.1 + zone.worth, position, zone.mask)));
        }
        joined.sort_by(|a, b| a.0.cmp(&b.0).then(b.1.cmp(&a.1)).then(a.2.cmp(&b.2)).then(a.3.cmp(&b.3)));
        let mut kept: Vec<(u64, u64, usize, u32)> = Vec::new();
        for point in joined {
            if kept.last().is_none_or(|last| point.1 > last.1) {
                kept.push(point);
            }
        }
        stages.push(kept);
    }
    let mut masks = vec![0; frontiers.len()];
    let mut at = stages.last().map_or(0, |stage| stage.len().saturating_sub(1));
    for (zone, mask) in masks.iter_mut().enumerate().rev() {
        if let Some(point) = stages.get(zone + 1).and_then(|stage| stage.get(at)) {
            *mask = point.3;
            at = point.2;
        }
    }
    masks
}
