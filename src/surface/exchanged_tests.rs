use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::*;

fn normal(random: &mut ChaCha8Rng) -> f64 {
    let (u, v): (f64, f64) = (
        random.random_range(1e-12..1.0),
        random.random_range(0.0..1.0),
    );
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

/// A made field: each layer is a slope in a direction of its own with waves on it, and noise of `noise` usual errors; predictions are the
/// truth with a smaller error, as a map that leaves the core out gives it.
fn field(places: usize, layers: usize, random: &mut ChaCha8Rng) -> Vec<Fitted> {
    let at: Vec<(f64, f64)> = (0..places)
        .map(|_| (random.random_range(0.0..1.0), random.random_range(0.0..1.0)))
        .collect();
    (0..layers)
        .map(|_| {
            let (a, b, c) = (normal(random), normal(random), normal(random));
            let truth =
                |(x, y): (f64, f64)| 3.0 * (a * x + b * y) + 1.5 * c * (5.0 * (x - y)).sin();
            let mut layer = Fitted {
                observed: Vec::new(),
                predicted: Vec::new(),
                expected: vec![1.0; places],
            };
            for &place in &at {
                layer.observed.push(truth(place) + 0.9 * normal(random));
                layer.predicted.push(truth(place) + 0.45 * normal(random));
            }
            layer
        })
        .collect()
}

/// Two of three layers, by hand: core 0 is 4 off where it stands and 0 off at the place of core 1, and the other way round.
#[test]
fn a_pair_is_found_by_hand() {
    let layer = |observed: [f64; 3]| Fitted {
        observed: observed.to_vec(),
        predicted: vec![1.0, 5.0, 3.0],
        expected: vec![1.0; 3],
    };
    let found = exchanged(
        &[
            layer([5.0, 1.0, 3.0]),
            layer([5.0, 1.0, 3.5]),
            layer([5.0, 1.0, 2.5]),
        ],
        |_, _| true,
    );
    assert_eq!(
        found,
        [Exchange {
            places: (0, 1),
            before: 16.0,
            after: 0.0
        }]
    );
    // Two layers are too few, and a core that is odd alone is no pair.
    assert_eq!(
        exchanged(&[layer([5.0, 1.0, 3.0]), layer([5.0, 1.0, 3.0])], |_, _| {
            true
        }),
        []
    );
    let alone = || layer([5.0, 5.0, 3.0]);
    assert_eq!(exchanged(&[alone(), alone(), alone()], |_, _| true), []);
}

/// 400 made fields of 40 cores and 6 layers: without an exchange next to none is called; two bags that lie apart are found more often than
/// not, and hardly another pair in their place.
#[test]
fn two_exchanged_bags_are_found_and_others_are_not_called() {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let (mut false_calls, mut found, mut wrong) = (0, 0, 0);
    for _ in 0..400 {
        let mut layers = field(40, 6, &mut random);
        false_calls += usize::from(!exchanged(&layers, |_, _| true).is_empty());
        let (one, other) = (random.random_range(0..20), random.random_range(20..40));
        for layer in &mut layers {
            layer.observed.swap(one, other);
        }
        let pairs: Vec<(usize, usize)> = exchanged(&layers, |_, _| true)
            .iter()
            .map(|pair| pair.places)
            .collect();
        found += usize::from(pairs.contains(&(one, other)));
        wrong += usize::from(pairs.iter().any(|pair| *pair != (one, other)));
    }
    println!(
        "of 400 fields: {false_calls} called falsely, {found} exchanges found, {wrong} with another pair"
    );
    assert!(false_calls <= 4, "{false_calls}");
    assert!(found >= 200, "{found}");
    assert!(wrong <= 8, "{wrong}");
}

/// Three readings, and one reading with two layers that are derived from it: the errors of the latter are one, and count once.
#[test]
fn layers_derived_from_one_reading_are_one_witness() {
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let mut of = |layers: usize| {
        let mut layers = field(40, layers, &mut random);
        for layer in &mut layers {
            layer.predicted[3] = 0.0;
            layer.predicted[30] = 6.0;
            layer.observed[3] = 6.0;
            layer.observed[30] = 0.0;
        }
        layers
    };
    let three = of(3);
    assert_eq!(
        exchanged(&three, |_, _| true)
            .first()
            .map(|pair| pair.places),
        Some((3, 30))
    );
    let mut derived = of(2);
    for (own, factor) in [(0, 2.0), (1, 0.5)] {
        let of = &derived[own];
        let scaled = |values: &[f64]| values.iter().map(|value| value * factor).collect();
        let more = Fitted {
            observed: scaled(&of.observed),
            predicted: scaled(&of.predicted),
            expected: scaled(&of.expected),
        };
        derived.push(more);
    }
    assert_eq!(exchanged(&derived, |_, _| true), []);
}

/// Ground that is alike everywhere: predictions differ by little, noise alone makes cores odd, and next to none is called.
#[test]
fn on_ground_that_is_alike_everywhere_no_exchange_is_told() {
    let mut random = ChaCha8Rng::seed_from_u64(12);
    let mut called = 0;
    let mut by_misfit_alone = 0;
    for _ in 0..400 {
        let layers: Vec<Fitted> = (0..4)
            .map(|_| Fitted {
                observed: (0..36).map(|_| normal(&mut random)).collect(),
                predicted: (0..36).map(|_| 0.45 * normal(&mut random)).collect(),
                expected: vec![1.0; 36],
            })
            .collect();
        called += usize::from(!exchanged(&layers, |_, _| true).is_empty());
        let all: Vec<&Fitted> = layers.iter().collect();
        let fits = |core: usize, place: usize| misfit(&all, core, place);
        let is_odd = |place: &usize| fits(*place, *place) >= LEAST_BEFORE;
        let odd: Vec<usize> = (0..36).filter(is_odd).collect();
        let mut pairs = odd
            .iter()
            .flat_map(|one| odd.iter().map(move |other| (*one, *other)));
        by_misfit_alone += usize::from(pairs.any(|(one, other)| {
            one < other && fits(one, other) <= MOST_AFTER && fits(other, one) <= MOST_AFTER
        }));
    }
    println!(
        "of 400 fields alike everywhere: {called} called, {by_misfit_alone} by the misfit alone"
    );
    assert!(called <= 8, "{called}");
    assert!(by_misfit_alone >= 30, "{by_misfit_alone}");
}

/// A core that was pulled again beside the first, as for a check of quality, is no exchange, whatever the two say.
#[test]
fn two_places_beside_each_other_are_never_called() {
    let layer = || Fitted {
        observed: vec![5.0, 1.0, 3.0],
        predicted: vec![1.0, 5.0, 3.0],
        expected: vec![1.0; 3],
    };
    let layers = [layer(), layer(), layer()];
    let apart = exchanged(&layers, |_, _| true);
    let beside = exchanged(&layers, |one, other| (one, other) != (0, 1));
    assert!(beside.is_empty() && apart.len() <= 1);
}
