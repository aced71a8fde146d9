//! Which fixes a budget buys: the set with the greatest severity relieved over the years that the fixes work, found exactly.
//!
//! What one fix leaves of a factor's severity the next can relieve in turn: two fixes that each take half leave a quarter. Each zone's
//! sets are thinned to those that no other set beats in cost and worth; the zones are then joined one by one, thinned again at each join.

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
    let masks = join(&frontiers, limit);
    zones
        .iter()
        .zip(masks)
        .map(|(items, mask)| {
            (0..items.len())
                .map(|at| at < MOST_ITEMS && mask >> at & 1 == 1)
                .collect()
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

/// A joint set of the zones so far: cost, worth, where it came from in the stage before, and the last zone's set.
#[derive(Debug, Clone, Copy)]
struct Joint {
    cents: u64,
    worth: u64,
    from: usize,
    mask: u32,
}

/// One set for each zone: the joint best within the limit. A joint set that could not beat a plain greedy choice even if the rest
/// of the money were spent in fractions of sets is dropped on the way; that loses no best one.
fn join(frontiers: &[Vec<Point>], limit: u64) -> Vec<u32> {
    let bounds: Vec<Bound> = (0..=frontiers.len())
        .map(|from| Bound::new(frontiers.get(from..).unwrap_or_default()))
        .collect();
    let floor = bounds.first().map_or(0, |bound| bound.greedy(limit));
    let mut stages: Vec<Vec<Joint>> = vec![vec![Joint {
        cents: 0,
        worth: 0,
        from: 0,
        mask: 0,
    }]];
    for (frontier, rest) in frontiers.iter().zip(bounds.iter().skip(1)) {
        let Some(before) = stages.last() else { break };
        let mut joined: Vec<Joint> = Vec::new();
        for (from, point) in before.iter().enumerate() {
            let affordable = frontier
                .iter()
                .take_while(|zone| point.cents + zone.cents <= limit);
            let with = affordable.map(|zone| Joint {
                cents: point.cents + zone.cents,
                worth: point.worth + zone.worth,
                from,
                mask: zone.mask,
            });
            joined.extend(
                with.filter(|joint| joint.worth + rest.at_most(limit - joint.cents) >= floor),
            );
        }
        joined.sort_by(|a, b| {
            a.cents
                .cmp(&b.cents)
                .then(b.worth.cmp(&a.worth))
                .then(a.from.cmp(&b.from))
                .then(a.mask.cmp(&b.mask))
        });
        let mut kept: Vec<Joint> = Vec::new();
        for joint in joined {
            if kept.last().is_none_or(|last| joint.worth > last.worth) {
                kept.push(joint);
            }
        }
        stages.push(kept);
    }
    let mut masks = vec![0; frontiers.len()];
    let mut at = stages
        .last()
        .map_or(0, |stage| stage.len().saturating_sub(1));
    for (zone, mask) in masks.iter_mut().enumerate().rev() {
        if let Some(joint) = stages.get(zone + 1).and_then(|stage| stage.get(at)) {
            *mask = joint.mask;
            at = joint.from;
        }
    }
    masks
}

/// What the best of some zones can be worth at most: their sets as if each could be bought in fractions.
struct Bound {
    /// Worth of the sets that cost nothing.
    free: u64,
    /// Steps along each zone's best worth per cost: cents, worth and zone, the best first.
    steps: Vec<(u64, u64, usize)>,
}

impl Bound {
    fn new(frontiers: &[Vec<Point>]) -> Self {
        let free = frontiers
            .iter()
            .filter_map(|frontier| frontier.first())
            .map(|point| point.worth)
            .sum();
        let mut steps: Vec<(u64, u64, usize)> = frontiers
            .iter()
            .enumerate()
            .flat_map(|(zone, frontier)| {
                hull(frontier)
                    .into_iter()
                    .map(move |(cents, worth)| (cents, worth, zone))
            })
            .collect();
        // Within a zone the steps fall in worth per cost, so that a stable sort keeps their order.
        steps.sort_by(|a, b| {
            (u128::from(b.1) * u128::from(a.0)).cmp(&(u128::from(a.1) * u128::from(b.0)))
        });
        Self { free, steps }
    }

    /// No set of these zones within the limit is worth more than this.
    fn at_most(&self, limit: u64) -> u64 {
        let (mut left, mut worth) = (limit, self.free);
        for &(cents, step, _) in &self.steps {
            if cents > left {
                let part = (u128::from(step) * u128::from(left)).div_ceil(u128::from(cents));
                return worth + u64::try_from(part).unwrap_or(step);
            }
            left -= cents;
            worth += step;
        }
        worth
    }

    /// What taking the best steps that still fit is worth.
    fn greedy(&self, limit: u64) -> u64 {
        let (mut left, mut worth) = (limit, self.free);
        let mut stopped: Vec<usize> = Vec::new();
        for &(cents, step, zone) in &self.steps {
            if stopped.contains(&zone) {
                continue;
            }
            if cents > left {
                stopped.push(zone);
                continue;
            }
            left -= cents;
            worth += step;
        }
        worth
    }
}

/// The steps along the upper hull of a frontier, by falling worth per cost.
fn hull(frontier: &[Point]) -> Vec<(u64, u64)> {
    let mut kept: Vec<Point> = Vec::new();
    for point in frontier {
        while let [.., a, b] = kept[..] {
            let first = u128::from(b.worth - a.worth) * u128::from(point.cents - b.cents);
            let second = u128::from(point.worth - b.worth) * u128::from(b.cents - a.cents);
            if first > second {
                break;
            }
            kept.pop();
        }
        kept.push(*point);
    }
    kept.windows(2)
        .map(|pair| (pair[1].cents - pair[0].cents, pair[1].worth - pair[0].worth))
        .collect()
}

#[cfg(test)]
#[path = "budget_tests.rs"]
mod tests;
