//! Left-out predictions, planes, variograms and uncertainty against numbers of `tests/reference/interpolation/left_out.py`, which
//! works the formulas out with numpy and no search. Places and values are invented.

use std::borrow::Cow;

use super::draw::draw;
use super::drawing::{Drawing, LayerToDraw};
use super::inverse_distance::{Neighbourhood, Power, inverse_distance};
use super::joined::Group;
use super::leave_one_out::Prediction;
use super::left_out::LeftOut;
use super::neighbours::Neighbours;
use super::sites::Sites;
use super::smoother::{Lanes, Smoother};
use super::standard_error::{self, LayerModel, SampledCells};
use super::standard_error_curve::StandardErrorCurve;
use super::tuning::columns;
use super::tuning_table::Table;
use super::variogram::Variogram;
use crate::field::Grid;
use crate::plan::{FixedOrAuto, SurfaceSettings};

const X: [f64; 12] = [
    0.0, 30.0, 60.0, 95.0, 10.0, 45.0, 80.0, 20.0, 55.0, 100.0, 35.0, 70.0,
];
const Y: [f64; 12] = [
    0.0, 5.0, 0.0, 12.0, 35.0, 30.0, 40.0, 70.0, 65.0, 75.0, 100.0, 105.0,
];
const A: [f64; 12] = [5.1, 6.3, 5.8, 7.9, 6.6, 7.4, 8.8, 7.1, 9.5, 9.9, 8.2, 10.7];
const B: [f64; 12] = [3.0, 1.2, 2.6, 0.4, 2.2, 3.9, 1.7, 0.8, 2.9, 1.1, 3.3, 2.4];
const C: [f64; 12] = [4.2, 2.6, 2.1, 3.4, 3.0, 2.8, 2.6, 3.5, 2.4, 2.8, 2.7, 0.9];

/// The places, moved as a whole: nothing may hang on where a field lies.
fn sites() -> Sites {
    let group = Group {
        x: Cow::Owned(X.iter().map(|x| x + 1_000.0).collect()),
        y: Cow::Owned(Y.iter().map(|y| y - 300.0).collect()),
        layers: Vec::new(),
    };
    Sites::new(&group, (0..12).collect(), 12)
}

fn grid() -> Grid {
    Grid {
        west: 1_005.0,
        north: -185.0,
        cell: 22.0,
        columns: 5,
        rows: 5,
        cells: (0..25).collect(),
        share: vec![1.0; 25],
    }
}

fn free() -> SurfaceSettings {
    SurfaceSettings {
        power: FixedOrAuto::Auto,
        neighbours: FixedOrAuto::Auto,
    }
}

fn close(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() <= 1e-8 * wanted.abs().max(1.0),
        "{found} is not {wanted}"
    );
}

/// A row of `left_out.json`.
fn numpy(row: &str) -> Vec<f64> {
    let text = include_str!("../../tests/reference/interpolation/left_out.json");
    let content: serde_json::Value = serde_json::from_str(text).unwrap();
    serde_json::from_value(content[row].clone()).unwrap()
}

fn lane(found: &[Lanes], lane: usize, wanted: &[f64]) {
    assert_eq!(found.len(), wanted.len());
    for (found, wanted) in found.iter().zip(wanted) {
        close(found[lane], *wanted);
    }
}

/// Powers 1, 1.5, 2, 2.5, 3 and 4, each with 8 and 12 neighbours; lane 0 is A and lane 1 is B.
#[test]
fn the_squared_errors_of_left_out_places_are_those_of_numpy() {
    let sites = sites();
    let neighbours = Neighbours::new(&sites);
    let table = Table::new(&free(), 12);
    let left_out = LeftOut::new(&neighbours, 8, Vec::new());
    assert_eq!(left_out.mean_skip(), 0.0);
    let smoother = Smoother::new(&table, &left_out, &sites, true);
    let values = columns(&sites.source, &[&A, &B]);
    let squares = smoother.squares(&values);
    lane(&squares.plain, 0, &numpy("all A plain"));
    lane(&squares.plane, 0, &numpy("all A plane"));
    lane(&squares.plain, 1, &numpy("all B plain"));
    lane(&squares.plane, 1, &numpy("all B plane"));
    // The empty lanes hold nothing but zeros.
    assert!(squares.plain.iter().all(|sums| sums[2..] == [0.0; 6]));
    let wanted = numpy("predicted A plane, power 1.5, 12 nearest");
    let predicted = smoother.predictions(&values, 3, true);
    for (place, lanes) in predicted.iter().enumerate() {
        close(
            lanes[0],
            wanted[sites.source[left_out.sites[place] as usize] as usize],
        );
    }
}

/// Cells farther off than any core make every place do without its nearest, half of the eleven others at most; of two that tie the
/// first alone goes on, so that they are 4.33 on average.
#[test]
fn places_that_do_without_their_nearest_err_as_numpy_says() {
    let sites = sites();
    let neighbours = Neighbours::new(&sites);
    let table = Table::new(&free(), 12);
    let left_out = LeftOut::new(&neighbours, 8, vec![1e8; 4]);
    close(left_out.mean_skip(), 52.0 / 12.0);
    let smoother = Smoother::new(&table, &left_out, &sites, true);
    let squares = smoother.squares(&columns(&sites.source, &[&A, &B]));
    lane(&squares.plain, 0, &numpy("matched A plain"));
    lane(&squares.plane, 0, &numpy("matched A plane"));
    lane(&squares.plain, 1, &numpy("matched B plain"));
    lane(&squares.plane, 1, &numpy("matched B plane"));
}

/// A power and a count that the plan fixed, by both ways in which left-out places are predicted.
#[test]
fn a_fixed_table_errs_as_numpy_says() {
    let sites = sites();
    let neighbours = Neighbours::new(&sites);
    let how = SurfaceSettings {
        power: FixedOrAuto::Fixed(2.5),
        neighbours: FixedOrAuto::Fixed(4),
    };
    let left_out = LeftOut::new(&neighbours, 4, Vec::new());
    let smoother = Smoother::new(&Table::new(&how, 12), &left_out, &sites, false);
    let squares = smoother.squares(&columns(&sites.source, &[&A]));
    lane(&squares.plain, 0, &[12.372_040_074_433_08]);
    assert!(squares.plane.is_empty());
    let plain = Prediction::new(&left_out, &sites.source, &A, Power(2.5), 4);
    close(
        plain.errors().iter().map(|e| e * e).sum(),
        12.372_040_074_433_08,
    );
}

fn model<'s>(sites: &'s Sites, values: &[f64], power: f64, count: usize) -> LayerModel<'s> {
    let neighbours = Neighbours::new(sites);
    let left_out = LeftOut::new(&neighbours, 8, Vec::new());
    LayerModel {
        sites,
        variogram: Variogram::fit(sites, &left_out, &[values])[0],
        power: Power(power),
        count,
    }
}

#[test]
fn variograms_are_those_of_numpy() {
    let sites = sites();
    let neighbours = Neighbours::new(&sites);
    let left_out = LeftOut::new(&neighbours, 8, Vec::new());
    let fitted = Variogram::fit(&sites, &left_out, &[&A, &C]);
    for (fitted, (nugget, rise, range)) in fitted.iter().zip([
        (0.0, 7.086_109_771_56, 199.262_326_992),
        (0.062_604_965_968_9, 0.448_352_709_581, 18.902_922_247_2),
    ]) {
        let fitted = fitted.unwrap();
        assert_eq!(fitted.at(0.0), 0.0);
        for distance in [0.5_f64, 10.0, 60.0, 500.0] {
            close(
                fitted.at(distance),
                nugget + rise * (1.0 - (-distance / range).exp()),
            );
        }
    }
}

/// `at_core`, `rise` and `halfway` of two layers with two tables each.
#[test]
fn the_curves_of_the_uncertainty_are_those_of_numpy() {
    let sites = sites();
    let neighbours = Neighbours::new(&sites);
    let left_out = LeftOut::new(&neighbours, 8, Vec::new());
    for (values, power, count, wanted) in [
        (A, 2.0, 8, (0.0, 19.401_870_398_5, 460.550_118_202)),
        (A, 1.5, 5, (0.0, 17.305_513_612_7, 386.926_973_239)),
        (
            C,
            2.0,
            8,
            (0.439_983_727_948, 2.904_941_709_77, 112.438_993_702),
        ),
        (
            C,
            1.5,
            5,
            (0.404_457_622_345, 3.177_505_977_71, 94.464_593_075_9),
        ),
    ] {
        let layer = model(&sites, &values, power, count);
        let prediction = Prediction::new(&left_out, &sites.source, &values, Power(power), count);
        let cells = SampledCells::new(&neighbours, &grid(), count);
        let found = standard_error::fit(&cells, &left_out, &prediction, &layer);
        close(found.at_core, wanted.0);
        close(found.rise, wanted.1);
        close(found.halfway, wanted.2);
        close(
            found.at(400.0),
            (wanted.0 + wanted.1 * 20.0 / (20.0 + wanted.2)).sqrt(),
        );
    }
}

/// Without a variogram: the mean square error times (1 + 4 / 11)², everywhere.
#[test]
fn without_a_variogram_the_uncertainty_is_the_same_everywhere() {
    let sites = sites();
    let neighbours = Neighbours::new(&sites);
    let left_out = LeftOut::new(&neighbours, 8, Vec::new());
    let layer = LayerModel {
        variogram: None,
        ..model(&sites, &A, 2.0, 8)
    };
    let prediction = Prediction::new(&left_out, &sites.source, &A, Power(2.0), 8);
    let cells = SampledCells::new(&neighbours, &grid(), 8);
    let found = standard_error::fit(&cells, &left_out, &prediction, &layer);
    let variance = 13.967_441_173 / 12.0 * (15.0_f64 / 11.0).powi(2);
    close(found.at(0.0), variance.sqrt());
    close(found.at(1e4), variance.sqrt());
}

/// Squared distances of the cells' centres to the nearest of the places; fewer cells than places say nothing.
#[test]
fn distances_of_cells_to_their_nearest_core() {
    let sites = sites();
    let neighbours = Neighbours::new(&sites);
    let found = standard_error::distances(&neighbours, &grid());
    assert_eq!(found.len(), 25);
    for (i, found) in found.iter().enumerate() {
        let (x, y) = (16.0 + 22.0 * (i % 5) as f64, 104.0 - 22.0 * (i / 5) as f64);
        let wanted = (X.iter().zip(&Y)).map(|(a, b)| (a - x).powi(2) + (b - y).powi(2));
        close(*found, wanted.fold(f64::INFINITY, f64::min));
    }
    let mut coarse = grid();
    coarse.cells.truncate(12);
    assert_eq!(standard_error::distances(&neighbours, &coarse).len(), 12);
    coarse.cells.truncate(11);
    assert!(standard_error::distances(&neighbours, &coarse).is_empty());
}

/// Each power by its own code and by the plain formula, with all places and with the four nearest. The uncertainty by the curve at
/// the harmonic mean distance, `sqrt(k / sum(d^-2))` of the k nearest.
#[test]
fn every_power_draws_the_plain_formula() {
    let sites = sites();
    let neighbours = Neighbours::new(&sites);
    let observations: Vec<(f64, f64, f64)> = (0..12)
        .map(|i| (X[i] + 1_000.0, Y[i] - 300.0, A[i]))
        .collect();
    let curve = StandardErrorCurve {
        at_core: 0.5,
        rise: 2.0,
        halfway: 20.0,
    };
    for power in [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 1.7] {
        for count in [4, 12] {
            let drawing = Drawing {
                power: Power(power),
                count,
                layers: vec![LayerToDraw { values: &A, curve }],
            };
            let grid = grid();
            let drawn = draw(&neighbours, &grid, &drawing);
            for (slot, &cell) in grid.cells.iter().enumerate() {
                let (x, y) = grid.centre(cell);
                let wanted =
                    inverse_distance(&observations, (x, y), power, Neighbourhood::Nearest(count));
                let found = f64::from(drawn[0].values[slot]);
                assert!(
                    (found - wanted.unwrap()).abs() < 2e-6,
                    "power {power}, {count}: {found} is not {wanted:?}"
                );
                let mut squared: Vec<f64> = (observations.iter())
                    .map(|(a, b, _)| (a - x).powi(2) + (b - y).powi(2))
                    .collect();
                squared.sort_by(f64::total_cmp);
                let inverse: f64 = squared[..count].iter().map(|d| 1.0 / d).sum();
                let u = (count as f64 / inverse).sqrt();
                let wanted = (0.5 + 2.0 * u / (u + 20.0)).sqrt();
                let found = f64::from(drawn[0].standard_error[slot]);
                assert!((found - wanted).abs() < 2e-6, "{found} is not {wanted}");
            }
        }
    }
}

/// Twelve places on 100 x 105 m at 1.5 to a square: sides of sqrt(100 x 105 / 8) m, three columns and three rows.
#[test]
fn squares_hold_one_and_a_half_places_on_average() {
    let sites = sites();
    let shelves = &sites.shelves;
    let side = (100.0_f64 * 105.0 / 8.0).sqrt();
    close(shelves.side, side);
    assert_eq!((shelves.columns, shelves.rows), (3, 3));
    assert_eq!((shelves.west, shelves.south), (1_000.0, -300.0));
    close(sites.per_square_metre(), 12.0 / (9.0 * side * side));
    for (x, column) in [
        (900.0, 0),
        (1_000.0 + 0.9 * side, 0),
        (1_000.0 + 1.1 * side, 1),
        (1_099.0, 2),
        (2e3, 2),
    ] {
        assert_eq!(shelves.column(x), column, "{x}");
        assert_eq!(shelves.row(x - 1_300.0), column, "{x}");
    }
    let starts = &shelves.starts;
    assert_eq!((starts.len(), starts[0], starts[9]), (10, 0, 12));
    for shelf in 0..9 {
        for site in starts[shelf] as usize..starts[shelf + 1] as usize {
            let own = shelves.row(sites.y[site]) * 3 + shelves.column(sites.x[site]);
            assert_eq!(own, shelf);
        }
    }
}

/// A line of twelve places 10 m apart: its 110 m are divided by 12 / 1.5.
#[test]
fn a_transect_is_divided_by_its_length() {
    let along: Vec<f64> = (0..12).map(|i| f64::from(i) * 10.0).collect();
    for turned in [false, true] {
        let (x, y) = (along.clone(), vec![7.0; 12]);
        let (x, y) = if turned { (y, x) } else { (x, y) };
        let group = Group {
            x: Cow::Owned(x),
            y: Cow::Owned(y),
            layers: Vec::new(),
        };
        let shelves = Sites::new(&group, (0..12).collect(), 12).shelves;
        close(shelves.side, 13.75);
        let sides = if turned { (1, 9) } else { (9, 1) };
        assert_eq!((shelves.columns, shelves.rows), sides);
    }
}

/// Three observations at one place and two at another, two votes each.
#[test]
fn observations_at_one_place_share_it_and_no_more_than_the_votes_stay() {
    let group = Group {
        x: Cow::Owned(vec![0.0, 50.0, 0.0, 90.0, 0.0, 90.0, 20.0]),
        y: Cow::Owned(vec![0.0, 10.0, 0.0, 80.0, 0.0, 80.0, 60.0]),
        layers: Vec::new(),
    };
    let sites = Sites::new(&group, (0..7).collect(), 2);
    assert_eq!((sites.len(), sites.places()), (6, 4));
    assert_eq!(sites.coincident(), (5, 2));
    let places: Vec<(f64, f64)> = (0..4)
        .map(|n| (sites.x[sites.place(n)], sites.y[sites.place(n)]))
        .collect();
    assert_eq!(
        places.iter().map(|p| p.0 + p.1).sum::<f64>(),
        0.0 + 60.0 + 170.0 + 80.0
    );
    let values = [1.0, 9.0, 2.0, 5.0, 6.0, 7.0, 8.0];
    assert_eq!(
        *sites.averaged(&values),
        [3.0, 9.0, 3.0, 6.0, 3.0, 6.0, 8.0]
    );
    let shelves = &sites.shelves;
    assert_eq!(shelves.starts[shelves.columns * shelves.rows], 6);
    for shelf in 0..shelves.columns * shelves.rows {
        for site in shelves.starts[shelf] as usize..shelves.starts[shelf + 1] as usize {
            let own = shelves.row(sites.y[site]) * shelves.columns + shelves.column(sites.x[site]);
            assert_eq!(own, shelf);
        }
    }
    // A place that is left out takes the others of its place with it.
    let neighbours = Neighbours::new(&sites);
    let left_out = LeftOut::new(&neighbours, 3, Vec::new());
    assert_eq!(left_out.len(), 4);
    for place in 0..4 {
        let here = left_out.sites[place] as usize;
        let at = (sites.x[here], sites.y[here]);
        let same: Vec<u32> = (0..6)
            .filter(|&i| (sites.x[i as usize], sites.y[i as usize]) == at)
            .collect();
        assert_eq!(left_out.without(place, &sites), same);
        assert!(left_out.near(place).iter().all(|n| !same.contains(&n.site)));
        assert_eq!(left_out.near(place).len(), 6 - same.len());
    }
}

/// The quick ways are the plain power.
#[test]
fn a_ratio_of_squared_distances_to_half_the_power() {
    for power in [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 0.7, 5.0] {
        for ratio in [1.0, 0.81, 0.3, 1e-3] {
            close(
                Power(power).of_ratio(ratio),
                (power / 2.0 * f64::ln(ratio)).exp(),
            );
        }
    }
}
