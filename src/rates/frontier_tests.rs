//! The best buys, compared with every subset of fixes tried in turn.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::{Point, best, sum};

/// Fixes of a field: cents and worth of each.
type Fixes = Vec<(u64, u64)>;

/// A farm of two to four fields with at most twelve fixes together.
fn farm(random: &mut ChaCha8Rng) -> Vec<Fixes> {
    let mut left = 12_usize;
    (0..random.random_range(2..5))
        .map(|_| {
            let count = random.random_range(0..=left.min(5));
            left -= count;
            (0..count)
                .map(|_| (random.random_range(0..400), random.random_range(1..1_000)))
                .collect()
        })
        .collect()
}

/// Cost and worth of every subset of some fixes.
fn subsets(fixes: &[(u64, u64)]) -> Vec<Point> {
    let has = |mask: u32, at: usize| mask >> at & 1 == 1;
    (0..1_u32 << fixes.len())
        .map(|mask| {
            let chosen = fixes.iter().enumerate().filter(|(at, _)| has(mask, *at));
            let (cents, worth) =
                chosen.fold((0, 0), |sum, (_, fix)| (sum.0 + fix.0, sum.1 + fix.1));
            Point { cents, worth }
        })
        .collect()
}

/// What a field offers: the subsets that no cheaper one equals.
fn frontier(fixes: &[(u64, u64)]) -> Vec<Point> {
    let mut points = subsets(fixes);
    points.sort_by_key(|point| (point.cents, std::cmp::Reverse(point.worth)));
    let mut kept: Vec<Point> = Vec::new();
    for point in points {
        if kept.last().is_none_or(|last| point.worth > last.worth) {
            kept.push(point);
        }
    }
    kept
}

/// The most that any subset of all fixes of the farm is worth within a limit.
fn most_by_trying_all(farm: &[Fixes], limit: u64) -> u64 {
    let within = subsets(&farm.concat());
    let within = within.iter().filter(|point| point.cents <= limit);
    within.map(|point| point.worth).max().unwrap_or(0)
}

const LIMITS: [u64; 8] = [0, 1, 90, 250, 600, 1_200, 2_400, 10_000];

#[test]
fn a_share_out_relieves_as_much_as_any_subset_of_all_fixes() {
    let mut random = ChaCha8Rng::seed_from_u64(17);
    for _ in 0..120 {
        let farm = farm(&mut random);
        let offers: Vec<Vec<Point>> = farm.iter().map(|fixes| frontier(fixes)).collect();
        let mut before = 0;
        for limit in LIMITS {
            let found = best(&offers, limit, 1_000_000);
            assert!(found.cents <= limit, "{farm:?} {limit}");
            assert_eq!(
                found.worth,
                most_by_trying_all(&farm, limit),
                "{farm:?} {limit}"
            );
            assert_eq!(found.at_most, found.worth, "an exact answer has no gap");
            assert!(found.worth >= before, "more money relieves less: {farm:?}");
            before = found.worth;
            let turned: Vec<Vec<Point>> = offers.iter().rev().cloned().collect();
            assert_eq!(
                best(&turned, limit, 1_000_000).worth,
                found.worth,
                "{farm:?}"
            );
        }
    }
}

#[test]
fn a_farm_too_large_for_the_exact_way_stays_within_the_gap_that_is_told() {
    let mut random = ChaCha8Rng::seed_from_u64(18);
    let mut gaps = 0;
    for _ in 0..120 {
        let farm = farm(&mut random);
        let offers: Vec<Vec<Point>> = farm.iter().map(|fixes| frontier(fixes)).collect();
        for limit in LIMITS {
            let found = best(&offers, limit, 0);
            let most = most_by_trying_all(&farm, limit);
            assert!(found.cents <= limit, "{farm:?} {limit}");
            assert!(
                found.worth <= most && most <= found.at_most,
                "{farm:?} {limit}: {found:?}, {most}"
            );
            gaps += usize::from(found.worth < found.at_most);
        }
    }
    assert!(gaps > 0, "the way past the exact one was not taken");
}

#[test]
fn a_frontier_that_was_thinned_loses_no_more_than_is_told() {
    let mut random = ChaCha8Rng::seed_from_u64(19);
    let mut losses = 0;
    for _ in 0..120 {
        let farm = farm(&mut random);
        let offers: Vec<Vec<Point>> = farm.iter().map(|fixes| frontier(fixes)).collect();
        let (points, loss) = sum(&offers, u64::MAX / 4, 4);
        losses += usize::from(loss > 0);
        for limit in LIMITS {
            let within = points.iter().filter(|point| point.cents <= limit);
            let found = within.map(|point| point.worth).max().unwrap_or(0);
            let most = most_by_trying_all(&farm, limit);
            assert!(
                found <= most && most <= found + loss,
                "{farm:?} {limit}: {found}, {loss}, {most}"
            );
        }
    }
    assert!(losses > 0, "nothing was thinned");
}
