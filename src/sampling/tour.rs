//! A short tour through all sites: nearest neighbour, then 2-opt until no exchange of two legs shortens it.

/// Sites beyond which the exchange of legs is left out: it costs the square of their number per round.
const MOST_FOR_EXCHANGE: usize = 600;
/// Rounds of exchanges; a usual field settles in fewer.
const MOST_ROUNDS: usize = 60;
/// Exchanges that win less than this many metres do not count, so that rounding cannot make it run on.
const LEAST_GAIN_M: f64 = 1e-6;

/// Indices of the points in walking order, starting at the south-western one.
pub(super) fn order(points: &[(f64, f64)]) -> Vec<usize> {
    let mut left: Vec<usize> = (0..points.len()).collect();
    let mut tour = Vec::with_capacity(points.len());
    let south_western = |a: &usize, b: &usize| {
        corner(points[*a])
            .total_cmp(&corner(points[*b]))
            .then(a.cmp(b))
    };
    let Some(mut here) = left.iter().copied().min_by(south_western) else {
        return tour;
    };
    loop {
        left.retain(|&at| at != here);
        tour.push(here);
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
        exchange_legs(points, &mut tour);
    }
    tour
}

fn corner(point: (f64, f64)) -> f64 {
    point.0 + point.1
}

fn distance(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

fn exchange_legs(points: &[(f64, f64)], tour: &mut [usize]) {
    let leg = |tour: &[usize], a: usize, b: usize| distance(points[tour[a]], points[tour[b]]);
    for _ in 0..MOST_ROUNDS {
        let mut is_better = false;
        for i in 1..tour.len().saturating_sub(1) {
            for j in i + 1..tour.len() {
                let after = if j + 1 < tour.len() {
                    leg(tour, j, j + 1)
                } else {
                    0.0
                };
                let joined = if j + 1 < tour.len() {
                    leg(tour, i, j + 1)
                } else {
                    0.0
                };
                if leg(tour, i - 1, j) + joined + LEAST_GAIN_M < leg(tour, i - 1, i) + after {
                    tour[i..=j].reverse();
                    is_better = true;
                }
            }
        }
        if !is_better {
            return;
        }
    }
}
