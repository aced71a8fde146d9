//! What money buys at best: rising costs, each with the most that it is worth. One set of choices is joined with the next, thinned at
//! each join to what no other joint choice beats; the zones of a field and the fields of a farm are joined by the same code.

use serde::{Deserialize, Serialize};

/// A cost and the most that it buys.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Point {
    /// Cost in whole cents.
    pub cents: u64,
    /// Severity relieved, times area and years, as a whole number.
    pub worth: u64,
}

/// The best choice within a limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Best {
    /// For each frontier, the position of the chosen point.
    pub chosen: Vec<usize>,
    /// What the chosen points cost together, cents.
    pub cents: u64,
    /// What they are worth together.
    pub worth: u64,
    /// No choice within the limit is worth more than this.
    pub at_most: u64,
}

/// A joint choice so far: cost, worth, where it came from in the stage before, and the point of the last frontier.
#[derive(Debug, Clone, Copy)]
struct Joint {
    cents: u64,
    worth: u64,
    from: usize,
    at: usize,
}

/// One point of each frontier: the best together within the limit, exactly, where no join holds more than `most` joint choices. Past
/// that, each frontier's best steps by worth per cost, as far as they fit; how far that can be from the best is told by `at_most`.
///
/// Each frontier rises in cost and in worth and begins with what costs nothing.
#[must_use]
pub fn best(frontiers: &[Vec<Point>], limit: u64, most: usize) -> Best {
    let whole = Bound::new(frontiers);
    let (exact, at_most) = match join(frontiers, limit, most) {
        Some(stages) => {
            let chosen = walked_back(&stages, frontiers.len());
            let worth = total(frontiers, &chosen).1;
            (chosen, worth)
        }
        None => (whole.greedy(frontiers, limit).0, whole.at_most(limit)),
    };
    let (cents, worth) = total(frontiers, &exact);
    Best {
        chosen: exact,
        cents,
        worth,
        at_most: at_most.max(worth),
    }
}

/// What each cost buys at best of several frontiers together, not past a limit; with the most that a choice can lose because a frontier of
/// more than `most` points is thinned.
#[must_use]
pub fn sum(frontiers: &[Vec<Point>], limit: u64, most: usize) -> (Vec<Point>, u64) {
    let nothing = vec![Point { cents: 0, worth: 0 }];
    frontiers
        .iter()
        .fold((nothing, 0), |(before, loss), frontier| {
            let (points, lost) = thinned(
                &points_of(&joined(&before, frontier, limit, |_| true)),
                most,
            );
            (points, loss + lost)
        })
}

fn points_of(stage: &[Joint]) -> Vec<Point> {
    let point = |joint: &Joint| Point {
        cents: joint.cents,
        worth: joint.worth,
    };
    stage.iter().map(point).collect()
}

/// A frontier of at most about `most` points beside its hull: the hull, and points spread evenly over the rest. With it the most that a choice can lose by the points that are gone.
fn thinned(frontier: &[Point], most: usize) -> (Vec<Point>, u64) {
    if frontier.len() <= most.max(1) {
        return (frontier.to_vec(), 0);
    }
    let corners = hull(frontier);
    let every = frontier.len().div_ceil(most.max(1));
    let is_kept = |at: usize| at.is_multiple_of(every) || corners.binary_search(&at).is_ok();
    let (mut kept, mut loss) = (Vec::new(), 0);
    for (at, point) in frontier.iter().enumerate() {
        if is_kept(at) {
            kept.push(*point);
        } else if let Some(last) = kept.last() {
            loss = loss.max(point.worth - last.worth);
        }
    }
    (kept, loss)
}

fn total(frontiers: &[Vec<Point>], chosen: &[usize]) -> (u64, u64) {
    let points = frontiers.iter().zip(chosen);
    points
        .filter_map(|(frontier, at)| frontier.get(*at))
        .fold((0, 0), |(cents, worth), point| {
            (cents + point.cents, worth + point.worth)
        })
}

/// The joint choices after each frontier. One that could not beat a plain greedy choice even if the rest of the money were spent in
/// fractions is dropped on the way; that loses no best one. `None` where a join holds too many.
fn join(frontiers: &[Vec<Point>], limit: u64, most: usize) -> Option<Vec<Vec<Joint>>> {
    // A bound for what is left after each frontier takes as long as the frontiers are many, squared.
    if frontiers.len() > MOST_JOINED && most != usize::MAX {
        return None;
    }
    let bounds: Vec<Bound> = (0..=frontiers.len())
        .map(|from| Bound::new(frontiers.get(from..).unwrap_or_default()))
        .collect();
    let floor = bounds
        .first()
        .map_or(0, |bound| bound.greedy(frontiers, limit).1);
    let mut stages: Vec<Vec<Joint>> = Vec::with_capacity(frontiers.len());
    let mut before = vec![Point { cents: 0, worth: 0 }];
    for (frontier, rest) in frontiers.iter().zip(bounds.iter().skip(1)) {
        if before.len().saturating_mul(frontier.len()) > most {
            return None;
        }
        let stage = joined(&before, frontier, limit, |joint| {
            joint.worth + rest.at_most(limit - joint.cents) >= floor
        });
        before = points_of(&stage);
        stages.push(stage);
    }
    Some(stages)
}

/// Most frontiers that are joined exactly; more are so many that a fraction of one step is little beside the whole.
const MOST_JOINED: usize = 500;

fn joined(
    before: &[Point],
    frontier: &[Point],
    limit: u64,
    may_be_best: impl Fn(&Joint) -> bool,
) -> Vec<Joint> {
    let mut joined: Vec<Joint> = Vec::new();
    for (from, point) in before.iter().enumerate() {
        let left = limit.saturating_sub(point.cents);
        let affordable = frontier.iter().take_while(|next| next.cents <= left);
        let with = affordable.enumerate().map(|(at, next)| Joint {
            cents: point.cents + next.cents,
            worth: point.worth + next.worth,
            from,
            at,
        });
        joined.extend(with.filter(&may_be_best));
    }
    joined.sort_by(|a, b| {
        a.cents
            .cmp(&b.cents)
            .then(b.worth.cmp(&a.worth))
            .then(a.from.cmp(&b.from))
            .then(a.at.cmp(&b.at))
    });
    let mut kept: Vec<Joint> = Vec::new();
    for joint in joined {
        if kept.last().is_none_or(|last| joint.worth > last.worth) {
            kept.push(joint);
        }
    }
    kept
}

fn walked_back(stages: &[Vec<Joint>], count: usize) -> Vec<usize> {
    let mut chosen = vec![0; count];
    let mut at = stages
        .last()
        .map_or(0, |stage| stage.len().saturating_sub(1));
    for (place, stage) in stages.iter().enumerate().rev() {
        if let (Some(joint), Some(chosen)) = (stage.get(at), chosen.get_mut(place)) {
            *chosen = joint.at;
            at = joint.from;
        }
    }
    chosen
}

/// A step along a frontier's hull.
#[derive(Debug, Clone, Copy)]
struct Step {
    cents: u64,
    worth: u64,
    /// Of which frontier.
    of: usize,
    /// The point that it leads to.
    to: usize,
}

/// What the best of some frontiers can be worth at most: their choices as if each could be bought in fractions.
struct Bound {
    /// Worth of what costs nothing.
    free: u64,
    /// Steps along each frontier's best worth per cost, the best first.
    steps: Vec<Step>,
    /// Cost and worth of all steps before each.
    before: Vec<(u64, u64)>,
}

impl Bound {
    fn new(frontiers: &[Vec<Point>]) -> Self {
        let first = frontiers.iter().filter_map(|frontier| frontier.first());
        let free = first.map(|point| point.worth).sum();
        let mut steps: Vec<Step> = frontiers
            .iter()
            .enumerate()
            .flat_map(|(of, frontier)| steps_of(of, frontier))
            .collect();
        // Within a frontier the steps fall in worth per cost, so that a stable sort keeps their order.
        steps.sort_by(|a, b| {
            let per_cost =
                |one: &Step, other: &Step| u128::from(one.worth) * u128::from(other.cents);
            per_cost(b, a).cmp(&per_cost(a, b))
        });
        let before = steps
            .iter()
            .scan((0, 0), |(cents, worth), step| {
                let before = (*cents, *worth);
                *cents += step.cents;
                *worth += step.worth;
                Some(before)
            })
            .collect();
        Self {
            free,
            steps,
            before,
        }
    }

    /// No choice of these frontiers within the limit is worth more than this.
    fn at_most(&self, limit: u64) -> u64 {
        let after = self.before.partition_point(|(cents, _)| *cents <= limit);
        let Some(at) = after.checked_sub(1) else {
            return self.free;
        };
        let (&(cents, worth), step) = (&self.before[at], &self.steps[at]);
        let left = limit - cents;
        if step.cents <= left {
            return self.free + worth + step.worth;
        }
        let part = (u128::from(step.worth) * u128::from(left)).div_ceil(u128::from(step.cents));
        self.free + worth + u64::try_from(part).unwrap_or(step.worth)
    }

    /// Taking the best steps that still fit: the points reached, and what they are worth.
    fn greedy(&self, frontiers: &[Vec<Point>], limit: u64) -> (Vec<usize>, u64) {
        let mut reached = vec![0; frontiers.len()];
        let mut is_stopped = vec![false; frontiers.len()];
        let (mut left, mut worth) = (limit, self.free);
        for step in &self.steps {
            if is_stopped[step.of] {
                continue;
            }
            if step.cents > left {
                is_stopped[step.of] = true;
                continue;
            }
            left -= step.cents;
            worth += step.worth;
            reached[step.of] = step.to;
        }
        (reached, worth)
    }
}

fn steps_of(of: usize, frontier: &[Point]) -> Vec<Step> {
    let corners = hull(frontier);
    let pairs = corners.windows(2).map(|pair| {
        let (from, to) = (frontier[pair[0]], frontier[pair[1]]);
        Step {
            cents: to.cents - from.cents,
            worth: to.worth - from.worth,
            of,
            to: pair[1],
        }
    });
    pairs.collect()
}

/// The positions of the corners of a frontier's upper hull.
fn hull(frontier: &[Point]) -> Vec<usize> {
    let mut kept: Vec<usize> = Vec::new();
    for (at, point) in frontier.iter().enumerate() {
        while let [.., a, b] = kept[..] {
            let (a, b) = (frontier[a], frontier[b]);
            let first = u128::from(b.worth - a.worth) * u128::from(point.cents - b.cents);
            let second = u128::from(point.worth - b.worth) * u128::from(b.cents - a.cents);
            if first > second {
                break;
            }
            kept.pop();
        }
        kept.push(at);
    }
    kept
}

#[cfg(test)]
#[path = "frontier_tests.rs"]
mod tests;
