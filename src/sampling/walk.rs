//! A short walk through all sites: nearest neighbour, then 2-opt until no exchange of two legs shortens it.

/// Sites beyond which the exchange of legs is left out: it costs the square of their number per round.
const MOST_FOR_EXCHANGE: usize = 600;
/// Rounds of exchanges; a usual field settles in fewer.
const MOST_ROUNDS: usize = 60;
/// Exchanges that win less than this many metres do not count, so that rounding cannot make it run on.
const LEAST_GAIN_M: f64 = 1e-6;

/// Indices of the points in walking order, starting at the south-western one.
pub(super) fn order(points: &[(f64, f64)]) -> Vec<usize> {
    let mut left: Vec<usize> = (0..points.len()).collect();
    let mut walk = Vec::with_capacity(points.len());
    let south_western = |a: &usize, b: &usize| {
        corner(points[*a])
            .total_cmp(&corner(points[*b]))
            .then(a.cmp(b))
    };
    let Some(mut here) = left.iter().copied().min_by(south_western) else {
        return walk;
    };
    loop {
        left.retain(|&at| at != here);
        walk.push(here);
        let Some(next) = left.iter().copied().min_by(|&a, &b| {
            distance(points[here], points[a])
                .total_cmp(&distance(points[here], points[b]))
                .then(a.cmp(&b))
        }) else {
            break;
        };
        here = next;
    }
    if points.len() <= MOST_FOR_EXCHANGE {
        exchange_legs(points, &mut walk);
    }
    walk
}

fn corner(point: (f64, f64)) -> f64 {
    point.0 + point.1
}

fn distance(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

fn exchange_legs(points: &[(f64, f64)], walk: &mut [usize]) {
    let leg = |walk: &[usize], a: usize, b: usize| distance(points[walk[a]], points[walk[b]]);
    for _ in 0..MOST_ROUNDS {
        let mut is_better = false;
        for i in 1..walk.len().saturating_sub(1) {
            for j in i + 1..walk.len() {
                let after = if j + 1 < walk.len() {
                    leg(walk, j, j + 1)
                } else {
                    0.0
                };
                let joined = if j + 1 < walk.len() {
                    leg(walk, i, j + 1)
                } else {
                    0.0
                };
                if leg(walk, i - 1, j) + joined + LEAST_GAIN_M < leg(walk, i - 1, i) + after {
                    walk[i..=j].reverse();
                    is_better = true;
                }
            }
        }
        if !is_better {
            return;
        }
    }
}
