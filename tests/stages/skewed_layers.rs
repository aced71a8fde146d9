//! Layers whose values are skewed are worked in logarithms.

use lowstave::plan::SurfaceSettings;
use lowstave::surface::{Map, Surface, interpolate};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::made_fields::{fixed, grid, one_layer};

const SIDE: f64 = 400.0;

/// Cores on a jittered grid, and a logarithm at each: a hill and a valley, and noise.
fn logarithms(seed: u64) -> (Vec<(f64, f64)>, Vec<f64>) {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let places: Vec<(f64, f64)> = (0..81)
        .map(|i| {
            let mut at = |n: usize| (n as f64 + random.random_range(0.2..0.8)) * SIDE / 9.0;
            (at(i % 9), at(i / 9))
        })
        .collect();
    let logs = places
        .iter()
        .map(|(x, y)| {
            let hill = (x / SIDE * 5.0).sin() * (y / SIDE * 4.0).cos();
            3.0 + 1.1 * hill + random.random_range(-0.25..0.25)
        })
        .collect();
    (places, logs)
}

fn skewed(seed: u64) -> (Vec<(f64, f64)>, Vec<f64>) {
    let (places, logs) = logarithms(seed);
    (places, logs.iter().map(|log| log.exp()).collect())
}

fn surface(places: &[(f64, f64)], values: &[f64], how: &SurfaceSettings) -> Surface {
    let made = one_layer(grid(0.0, 0.0, 80, 80, 5.0), places, values);
    interpolate(&made, how).unwrap().surfaces.remove(0)
}

fn map_of(surface: &Surface) -> Vec<f64> {
    match &surface.map {
        Map::Drawn { values, .. } => values.iter().map(|v| f64::from(*v)).collect(),
        Map::Flat { why, .. } => panic!("no map: {why:?}"),
    }
}

fn mean(numbers: &[f64]) -> f64 {
    numbers.iter().sum::<f64>() / numbers.len() as f64
}

#[test]
fn skewed_values_are_worked_in_logarithms_and_say_so() {
    let (places, values) = skewed(2);
    let free = SurfaceSettings::default();
    let found = surface(&places, &values, &free);
    assert!(found.logs.is_some());
    assert!(found.how().starts_with("logarithms, "), "{}", found.how());
    // The logarithms themselves are not skewed.
    let (_, logs) = logarithms(2);
    let plain = surface(&places, &logs, &free);
    assert!(plain.logs.is_none());
    assert!(!plain.how().contains("logarithms"), "{}", plain.how());
}

/// Turned upside down the long tail is below: no logarithm can be taken of it.
#[test]
fn values_below_zero_and_a_method_that_the_plan_fixes_are_not() {
    let (places, values) = skewed(2);
    let turned: Vec<f64> = values.iter().map(|value| -value).collect();
    let free = SurfaceSettings::default();
    assert!(surface(&places, &turned, &free).logs.is_none());
    assert!(surface(&places, &values, &fixed(2.0, 12)).logs.is_none());
}

#[test]
fn cores_in_heaps_are_not_worked_in_logarithms() {
    let (_, values) = skewed(2);
    let mut random = ChaCha8Rng::seed_from_u64(5);
    let heaps: Vec<(f64, f64)> = (0..81)
        .map(|i| {
            let mut near = |at: f64| at + random.random_range(-4.0..4.0);
            let heap = i / 9;
            (
                near(40.0 + 140.0 * f64::from(heap % 3)),
                near(40.0 + 140.0 * f64::from(heap / 3)),
            )
        })
        .collect();
    let free = SurfaceSettings::default();
    assert!(surface(&heaps, &values, &free).logs.is_none());
}

/// A core stands in the middle of its cell here, and its cell shows its value.
#[test]
fn a_map_in_logarithms_is_exact_at_a_core() {
    let (places, values) = skewed(2);
    let centred: Vec<(f64, f64)> = places
        .iter()
        .map(|(x, y)| ((x / 5.0).floor() * 5.0 + 2.5, (y / 5.0).floor() * 5.0 + 2.5))
        .collect();
    let found = surface(&centred, &values, &SurfaceSettings::default());
    assert!(found.logs.is_some());
    let map = map_of(&found);
    for ((x, y), value) in centred.iter().zip(&values) {
        let (column, row) = ((x / 5.0) as usize, ((SIDE - y) / 5.0) as usize);
        let cell = map[row * 80 + column];
        assert!(
            (cell / value - 1.0).abs() < 1e-4,
            "{cell} at a core of {value}"
        );
    }
}

/// The exponent of a mean of logarithms alone would lie below the mean of the values.
#[test]
fn the_way_back_is_unbiased_over_the_places_left_out_and_no_value_passes_the_cores() {
    let mut worked = 0;
    for seed in 1..=12 {
        let (places, values) = skewed(seed);
        let found = surface(&places, &values, &SurfaceSettings::default());
        if found.logs.is_none() {
            continue;
        }
        worked += 1;
        let skill = found.skill.unwrap();
        let off = skill.mean_error.abs() / mean(&values);
        assert!(off <= 0.05, "seed {seed}: off by {off} of the mean");
        let most = values.iter().copied().fold(0.0, f64::max);
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        for value in map_of(&found) {
            assert!(value <= most * 1.000_01 && value >= least * 0.999_99);
        }
    }
    assert!(worked >= 8, "{worked} of 12 were worked in logarithms");
}

/// What cells have in common is not more than the whole of it, and on low ground the error is that of low values: not that of the hot spot.
#[test]
fn the_error_of_a_mean_is_no_larger_than_the_mean_error_of_its_cells() {
    let mut worked = 0;
    for seed in 1..=12 {
        let (places, values) = skewed(seed);
        let grid = grid(0.0, 0.0, 80, 80, 5.0);
        let found = surface(&places, &values, &SurfaceSettings::default());
        let Map::Drawn {
            values: map,
            standard_error,
        } = &found.map
        else {
            continue;
        };
        if found.logs.is_none() {
            continue;
        }
        worked += 1;
        let mut order: Vec<usize> = (0..map.len()).collect();
        order.sort_by(|a, b| map[*a].total_cmp(&map[*b]));
        let (low, high) = order.split_at(map.len() / 2);
        let error = |cells: &[usize]| found.mean_standard_error(&grid, cells);
        for cells in [low, high] {
            let of_cells: Vec<f64> = cells
                .iter()
                .map(|c| f64::from(standard_error[*c]))
                .collect();
            let (of_mean, most) = (error(cells), mean(&of_cells));
            assert!(
                of_mean > 0.0 && of_mean <= most,
                "seed {seed}: {of_mean} over {most}"
            );
        }
        assert!(error(low) < error(high), "seed {seed}");
    }
    assert!(worked >= 8, "{worked} fields in logarithms");
}
