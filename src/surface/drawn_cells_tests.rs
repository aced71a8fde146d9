//! Every cell of a drawing, value and standard error, against the plain formula: all sites are sorted for each cell, without a search, blocks or
//! shelves. Of sites that tie for the last place each has its share of it (own, as the design says); on a core the map is the core.
//! Places and values are invented.

use std::borrow::Cow;

use super::draw::draw;
use super::drawing::{Drawing, LayerToDraw};
use super::inverse_distance::Power;
use super::joined::Group;
use super::neighbours::Neighbours;
use super::sites::Sites;
use super::standard_error_curve::StandardErrorCurve;
use crate::field::Grid;

const CURVE: StandardErrorCurve = StandardErrorCurve {
    at_core: 1.0,
    rise: 10.0,
    halfway: 50.0,
};

/// A field of whole rows, with a hole of some cells and columns that are no multiple of eight.
fn grid(west: f64, north: f64, cell: f64, columns: usize, rows: usize) -> Grid {
    let is_open = |cell: &u32| {
        let (row, column) = (*cell as usize / columns, *cell as usize % columns);
        !((20..27).contains(&row) && (11..30).contains(&column))
    };
    let cells: Vec<u32> = (0..(columns * rows) as u32).filter(is_open).collect();
    Grid {
        west,
        north,
        cell,
        columns,
        rows,
        share: vec![1.0; cells.len()],
        cells,
    }
}

/// So many places without any order in a square: multiples of the plastic number's powers, cut to their fractions.
fn scattered(count: usize, (left, low): (f64, f64), width: f64) -> Vec<(f64, f64)> {
    let at = |i: usize, step: f64| (i as f64 * step + 0.5).fract() * width;
    (0..count)
        .map(|i| (left + at(i, 0.754_877_666), low + at(i, 0.569_840_291)))
        .collect()
}

/// The weight of each place that has a say, and the squared harmonic distance.
fn plain(
    places: &[(f64, f64)],
    at: (f64, f64),
    power: f64,
    count: usize,
) -> (Vec<(usize, f64)>, f64) {
    let mut near: Vec<(f64, usize)> = (places.iter().enumerate())
        .map(|(i, (x, y))| ((x - at.0).powi(2) + (y - at.1).powi(2), i))
        .collect();
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    if near[0].0 < 1e-12 {
        return (vec![(near[0].1, 1.0)], 0.0);
    }
    let count = count.min(near.len());
    let last = near[count - 1].0;
    let inner = near.iter().filter(|n| n.0 < last * (1.0 - 1e-9)).count();
    let rim = near.iter().filter(|n| n.0 <= last * (1.0 + 1e-9)).count() - inner;
    let share = (count - inner) as f64 / rim as f64;
    let mut inverse = 0.0;
    let weights = near[..inner + rim]
        .iter()
        .enumerate()
        .map(|(rank, (squared, i))| {
            let part = if rank < inner { 1.0 } else { share };
            inverse += part / squared;
            (*i, part * squared.powf(-power / 2.0))
        });
    (weights.collect(), count as f64 / inverse)
}

#[track_caller]
fn check(places: &[(f64, f64)], grid: &Grid, power: f64, count: usize) {
    let group = Group {
        x: Cow::Owned(places.iter().map(|p| p.0).collect()),
        y: Cow::Owned(places.iter().map(|p| p.1).collect()),
        layers: Vec::new(),
    };
    let sites = Sites::new(&group, (0..places.len() as u32).collect(), count);
    let neighbours = Neighbours::new(&sites);
    let hill: Vec<f64> = (places.iter())
        .map(|(x, y)| 6.0 + (x / 40.0).sin() + (y / 30.0).cos())
        .collect();
    let step: Vec<f64> = (0..places.len()).map(|i| 20.0 + (i % 7) as f64).collect();
    let layer = |values| LayerToDraw {
        values,
        curve: CURVE,
    };
    let drawing = Drawing {
        power: Power(power),
        count,
        layers: vec![layer(&hill), layer(&step)],
    };
    let maps = draw(&neighbours, grid, &drawing);
    for (slot, &cell) in grid.cells.iter().enumerate() {
        let (row, column) = (cell as usize / grid.columns, cell as usize % grid.columns);
        let at = (
            grid.west + (column as f64 + 0.5) * grid.cell,
            grid.north - (row as f64 + 0.5) * grid.cell,
        );
        let (weights, harmonic) = plain(places, at, power, count);
        let all: f64 = weights.iter().map(|weight| weight.1).sum();
        let u = harmonic.sqrt();
        let error = (1.0 + 10.0 * u / (u + 50.0)).sqrt();
        for (map, values) in maps.iter().zip([&hill, &step]) {
            let sum: f64 = weights.iter().map(|(i, weight)| weight * values[*i]).sum();
            let value = sum / all;
            for (found, wanted) in [(map.values[slot], value), (map.standard_error[slot], error)] {
                assert!(
                    (f64::from(found) / wanted - 1.0).abs() < 1e-6,
                    "row {row}, column {column}, power {power}, {count} neighbours: {found} is not {wanted}"
                );
            }
        }
    }
}

#[test]
fn sparse_cores_are_drawn_in_blocks() {
    let places = scattered(40, (-100.0, -100.0), 400.0);
    let grid = grid(-10.0, 150.0, 2.0, 139, 43);
    for (power, count) in [(2.0, 5), (1.0, 9), (2.7, 4), (2.0, 50)] {
        check(&places, &grid, power, count);
    }
}

/// Forty cores in one block of 16 m and a few far off, fewer and more than are asked for.
#[test]
fn a_block_that_holds_its_neighbours_is_drawn_like_any_other() {
    let mut places = scattered(12, (-200.0, -150.0), 600.0);
    places.extend(scattered(40, (40.0, 90.0), 12.0));
    places.extend(scattered(7, (90.0, 100.0), 6.0));
    let grid = grid(-10.0, 150.0, 2.0, 139, 43);
    for count in [3, 5, 30] {
        check(&places, &grid, 2.0, count);
    }
}

/// A lattice of 48 m over cells of 2 m: some cells lie on a core, and many have two or four cores that tie for the last place.
#[test]
fn ties_and_cores_on_the_middle_of_a_cell_in_blocks() {
    let places: Vec<(f64, f64)> = (0..49)
        .map(|i| {
            (
                f64::from(i % 7) * 48.0 - 99.0,
                f64::from(i / 7) * 48.0 - 99.0,
            )
        })
        .collect();
    let grid = grid(-10.0, 150.0, 2.0, 139, 43);
    for (power, count) in [(2.0, 5), (1.0, 2), (4.0, 12)] {
        check(&places, &grid, power, count);
    }
}

/// The same where cores are dense and each cell looks for its own: a lattice of 6 m, with and without ties.
#[test]
fn dense_cores_are_drawn_cell_by_cell() {
    let places: Vec<(f64, f64)> = (0..324)
        .map(|i| {
            (
                f64::from(i % 18) * 6.0 - 9.0,
                f64::from(i / 18) * 6.0 + 31.0,
            )
        })
        .collect();
    let grid = grid(-10.0, 150.0, 4.0, 29, 31);
    for (power, count) in [(2.0, 5), (1.5, 6)] {
        check(&places, &grid, power, count);
    }
    check(&scattered(300, (-10.0, 30.0), 120.0), &grid, 2.0, 7);
}

/// Cells of other sizes, on a cluster that is as wide as forty of them; two sites far off leave it sparse.
#[test]
fn cells_of_any_size_are_the_plain_formula() {
    for cell in [0.2, 1.5, 3.0, 20.0] {
        let mut places = scattered(30, (4.0 * cell, -44.0 * cell), 40.0 * cell);
        places.extend([(4_000.0 * cell, 0.0), (0.0, -4_000.0 * cell)]);
        let grid = grid(0.0, 0.0, cell, 53, 49);
        for count in [1, 2, 4] {
            check(&places, &grid, 2.0, count);
        }
    }
}

/// Far down a strip of eight columns.
#[test]
fn a_long_strip_is_the_plain_formula() {
    let places: Vec<(f64, f64)> = scattered(40, (0.0, -1_200.0), 1_200.0)
        .into_iter()
        .map(|(x, y)| (x / 20.0 - 20.0, y))
        .chain([(20_000.0, 0.0)])
        .collect();
    let grid = grid(0.0, 0.0, 2.0, 8, 600);
    check(&places, &grid, 2.0, 2);
}

/// The nearest of a corner cell lies as far as it can from the middle of the 64 columns and 16 rows that are looked up at once: the middle's own
/// nearest is on the other side, a hair farther from the corner.
#[test]
fn the_nearest_of_a_corner_is_found_however_far_it_lies_from_the_middle() {
    for up in [0.0, 160.0] {
        // Cells of 20 m: the middle is at (640, -160), the lower left cell at (10, -310).
        let (a, corner) = ((640.0, up), (10.0, -310.0));
        let beyond = |from: f64, to: f64| to + (to - from) * 0.999;
        let b = (beyond(a.0, corner.0), beyond(a.1, corner.1));
        let places = [a, b, (50_000.0, 50_000.0)];
        check(&places, &grid(0.0, 0.0, 20.0, 64, 16), 2.0, 1);
    }
}

/// The same in one block of eight cells by eight, 1.9 m wide each, for its four corners.
#[test]
fn the_nearest_of_a_corner_of_a_block_is_found_too() {
    for (east, south) in [(1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)] {
        let from_middle = |cells: f64| (7.6 + east * cells * 1.9, -7.6 - south * cells * 1.9);
        // One lies 5.5 cells both ways from the corner cell's middle, and the other a hair less on its other side.
        let places = [from_middle(-2.0), from_middle(8.99), (50_000.0, 50_000.0)];
        check(&places, &grid(0.0, 0.0, 1.9, 8, 8), 2.0, 1);
    }
}

/// A lattice of 2.1 m whose cores tie but for the rounding of decimals, dense enough that each cell looks for its own.
#[test]
fn ties_by_rounding_are_ties() {
    let places: Vec<(f64, f64)> = (0..400)
        .map(|i| {
            (
                0.13 + f64::from(i % 20) * 2.1,
                0.13 - f64::from(i / 20) * 2.1,
            )
        })
        .collect();
    let grid = grid(0.13 - 0.35, 0.13 + 0.35, 0.7, 55, 31);
    for count in [2, 3, 6, 7] {
        check(&places, &grid, 2.0, count);
    }
}
