//! Stage tests: surface. Properties that hold for any data, and what is said where no map can be drawn.

#![allow(
    clippy::panic,
    clippy::unwrap_used,
    clippy::cast_lossless,
    reason = "a test may stop at anything unexpected"
)]

use lowstave::analyte::Analyte;
use lowstave::plan::{FixedOrAuto, SurfaceSettings};
use lowstave::surface::{Flat, Map, Neighbourhood, Surfaces, interpolate, inverse_distance};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::made_fields::{add_layer, add_table, field, fixed, grid, key, one_layer};
use super::made_threads::on_threads;

/// Cores at random places with a smooth hill and a little noise. Invented.
fn hill(count: usize, width: f64, seed: u64) -> (Vec<(f64, f64)>, Vec<f64>) {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let points: Vec<(f64, f64)> = (0..count)
        .map(|_| {
            (
                random.random_range(0.0..width),
                random.random_range(0.0..width),
            )
        })
        .collect();
    let values = points
        .iter()
        .map(|(x, y)| {
            6.0 + (x / width * 4.0).sin()
                + (y / width * 3.0).cos()
                + random.random_range(-0.05..0.05)
        })
        .collect();
    (points, values)
}

fn drawn(surfaces: &Surfaces) -> &[f32] {
    match &surfaces.surfaces[0].map {
        Map::Drawn { values, .. } => values,
        Map::Flat { why, .. } => panic!("no map: {why:?}"),
    }
}

#[test]
fn a_core_on_a_cell_centre_keeps_its_value() {
    let (mut points, values) = hill(60, 300.0, 1);
    for (x, y) in &mut points {
        (*x, *y) = (
            (*x / 5.0).floor() * 5.0 + 2.5,
            (*y / 5.0).floor() * 5.0 + 2.5,
        );
    }
    let made = one_layer(grid(0.0, 0.0, 60, 60, 5.0), &points, &values);
    for power in [1.0, 2.0, 3.0, 7.3] {
        let surfaces = interpolate(&made, &fixed(power, 12)).unwrap();
        for (i, (x, y)) in points.iter().enumerate() {
            let there: Vec<f64> = points
                .iter()
                .zip(&values)
                .filter(|(p, _)| *p == &points[i])
                .map(|(_, v)| *v)
                .collect();
            let cell = made.grid.cell_at(*x, *y).unwrap();
            let expected = if there.len() == 1 {
                values[i] as f32
            } else {
                (there.iter().sum::<f64>() / there.len() as f64) as f32
            };
            assert!(
                (drawn(&surfaces)[cell as usize] - expected).abs() <= f32::EPSILON * expected,
                "power {power}, core {i}"
            );
        }
    }
}

#[test]
fn no_value_leaves_the_range_of_the_cores() {
    let (points, values) = hill(80, 300.0, 2);
    let (low, high) = values.iter().fold((f64::MAX, f64::MIN), |(low, high), v| {
        (low.min(*v), high.max(*v))
    });
    let made = one_layer(grid(-50.0, -50.0, 100, 100, 4.0), &points, &values);
    for (power, count) in [(0.5, 3), (2.0, 12), (4.0, 80), (30.0, 12)] {
        let surfaces = interpolate(&made, &fixed(power, count)).unwrap();
        if let Map::Drawn { values, .. } = &surfaces.surfaces[0].map {
            assert!(
                values.iter().all(|v| *v >= low as f32 && *v <= high as f32),
                "power {power}, {count} neighbours"
            );
        }
    }
}

/// The map is made by a search in blocks; the plain formula looks at all cores for each cell.
#[test]
fn every_cell_is_the_plain_formula() {
    let mut compared = 0;
    for (count, width, cell) in [
        (12, 200.0, 5.0),
        (60, 300.0, 4.0),
        (400, 300.0, 7.0),
        (3_000, 200.0, 8.0),
    ] {
        let (points, values) = hill(count, width, count as u64);
        let side = (width / cell) as usize + 6;
        let made = one_layer(grid(-15.0, -10.0, side, side, cell), &points, &values);
        let cores: Vec<(f64, f64, f64)> = points
            .iter()
            .zip(&values)
            .map(|(p, v)| (p.0, p.1, *v))
            .collect();
        for (power, neighbours) in [
            (2.0, 12),
            (1.0, 5),
            (1.5, 8),
            (2.5, 16),
            (3.0, 1),
            (4.0, 12),
            (2.2, 9),
            (2.0, 40),
        ] {
            let surfaces = interpolate(&made, &fixed(power, neighbours)).unwrap();
            let Map::Drawn { values, .. } = &surfaces.surfaces[0].map else {
                continue;
            };
            for (slot, &cell) in made.grid.cells.iter().enumerate().step_by(7) {
                let plain = inverse_distance(
                    &cores,
                    made.grid.centre(cell),
                    power,
                    Neighbourhood::Nearest(neighbours),
                )
                .unwrap();
                // Single precision, stored once.
                assert!(
                    (f64::from(values[slot]) / plain - 1.0).abs() < 1e-6,
                    "{count} cores, power {power}, {neighbours}: cell {cell}"
                );
                compared += 1;
            }
        }
    }
    assert!(compared > 10_000, "only {compared} cells were compared");
}

#[test]
fn shuffled_rows_give_the_same_bytes() {
    let (mut points, mut values) = hill(150, 400.0, 3);
    // Some cores at one place, and a regular corner that is all ties.
    points[10] = points[11];
    points[12] = points[11];
    for i in 0..25 {
        points[100 + i] = ((i % 5) as f64 * 20.0, (i / 5) as f64 * 20.0);
    }
    let cells = grid(0.0, 0.0, 80, 80, 5.0);
    let auto = SurfaceSettings::default();
    let first = interpolate(&one_layer(cells.clone(), &points, &values), &auto).unwrap();
    let mut random = ChaCha8Rng::seed_from_u64(4);
    for _ in 0..5 {
        for i in (1..points.len()).rev() {
            let j = random.random_range(0..=i);
            points.swap(i, j);
            values.swap(i, j);
        }
        let again = interpolate(&one_layer(cells.clone(), &points, &values), &auto).unwrap();
        assert_eq!(
            format!("{:?}", again.surfaces),
            format!("{:?}", first.surfaces)
        );
    }
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let (points, values) = hill(200, 400.0, 5);
    let made = one_layer(grid(0.0, 0.0, 130, 130, 3.0), &points, &values);
    let with = |threads: usize| {
        let made = on_threads(threads, || interpolate(&made, &SurfaceSettings::default()));
        format!("{:?}", made.unwrap())
    };
    let one = with(1);
    assert_eq!(one, with(2));
    assert_eq!(one, with(8));
}

/// Four cores stand at the same distance from every cell centre; whichever is asked first must not win.
#[test]
fn a_regular_grid_of_cores_is_all_ties_and_stays_symmetric() {
    let points: Vec<(f64, f64)> = (0..900)
        .map(|i| ((i % 30) as f64 * 10.0, (i / 30) as f64 * 10.0))
        .collect();
    let values: Vec<f64> = points
        .iter()
        .map(|(x, y)| ((x - 145.0) / 60.0).powi(2) + ((y - 145.0) / 60.0).powi(2))
        .collect();
    let made = one_layer(grid(0.0, 0.0, 29, 29, 10.0), &points, &values);
    for count in [1, 2, 3, 6, 12] {
        let surfaces = interpolate(&made, &fixed(2.0, count)).unwrap();
        let map = drawn(&surfaces);
        for row in 0..29 {
            for column in 0..29 {
                let (here, turned, mirrored) = (
                    map[row * 29 + column],
                    map[column * 29 + row],
                    map[row * 29 + 28 - column],
                );
                assert!(
                    (here - turned).abs() < 1e-5 && (here - mirrored).abs() < 1e-5,
                    "{count} neighbours, {row}, {column}"
                );
            }
        }
    }
}

#[test]
fn cores_at_one_place_are_averaged_and_said_so() {
    let (points, values) = hill(40, 200.0, 6);
    let (mut points, mut values) = (points, values);
    points.push(points[0]);
    values.push(values[0] + 1.0);
    points[0] = (52.5, 52.5);
    points[40] = (52.5, 52.5);
    let made = one_layer(grid(0.0, 0.0, 40, 40, 5.0), &points, &values);
    let surfaces = interpolate(&made, &fixed(2.0, 12)).unwrap();
    let cell = made.grid.cell_at(52.5, 52.5).unwrap() as usize;
    assert_eq!(drawn(&surfaces)[cell], (values[0] + 0.5) as f32);
    assert!(
        surfaces
            .remarks
            .iter()
            .any(|r| r.code == "coincident-points"),
        "{:?}",
        surfaces.remarks
    );
    assert_eq!(
        surfaces.surfaces[0].skill.unwrap().n,
        40,
        "a core does not predict its own duplicate"
    );
}

#[test]
fn five_hundred_cores_on_one_spot_are_one_place() {
    let points = vec![(50.0, 50.0); 500];
    let values: Vec<f64> = (0..500).map(|i| 6.0 + f64::from(i) * 0.001).collect();
    let made = one_layer(grid(0.0, 0.0, 20, 20, 5.0), &points, &values);
    let surfaces = interpolate(&made, &SurfaceSettings::default()).unwrap();
    let Map::Flat { value, why, .. } = surfaces.surfaces[0].map else {
        panic!("one place makes no map")
    };
    assert_eq!(why, Flat::TooFew);
    assert!((value - 6.2495).abs() < 1e-9);
}

#[test]
fn five_hundred_cores_in_one_column_make_a_map() {
    let points: Vec<(f64, f64)> = (0..500).map(|i| (50.0, f64::from(i))).collect();
    let values: Vec<f64> = (0..500).map(|i| (f64::from(i) / 40.0).sin()).collect();
    let made = one_layer(grid(0.0, 0.0, 20, 100, 5.0), &points, &values);
    for how in [SurfaceSettings::default(), fixed(2.0, 12)] {
        assert!(
            drawn(&interpolate(&made, &how).unwrap())
                .iter()
                .all(|v| v.abs() <= 1.0)
        );
    }
}

#[test]
fn layers_of_one_key_from_two_tables_are_joined() {
    let (points, values) = hill(60, 300.0, 7);
    let cells = grid(0.0, 0.0, 60, 60, 5.0);
    let whole = interpolate(&one_layer(cells.clone(), &points, &values), &fixed(2.0, 12)).unwrap();
    let mut made = field(cells);
    let first = add_table(&mut made, "north.csv", &points[..25]);
    let second = add_table(&mut made, "south.csv", &points[25..]);
    add_layer(&mut made, second, &key(Analyte::Ph), &values[25..]);
    add_layer(&mut made, first, &key(Analyte::Ph), &values[..25]);
    let joined = interpolate(&made, &fixed(2.0, 12)).unwrap();
    assert_eq!(joined.surfaces.len(), 1);
    assert_eq!(drawn(&joined), drawn(&whole));
}

#[test]
fn a_missing_result_has_no_say() {
    let (points, values) = hill(60, 300.0, 8);
    let cells = grid(0.0, 0.0, 60, 60, 5.0);
    let mut made = field(cells.clone());
    let table = add_table(&mut made, "cores.csv", &points);
    let mut holes = values.clone();
    holes[3] = f64::NAN;
    holes[40] = f64::NAN;
    add_layer(&mut made, table, &key(Analyte::Ph), &holes);
    add_layer(&mut made, table, &key(Analyte::Calcium), &values);
    let surfaces = interpolate(&made, &fixed(2.0, 12)).unwrap();
    let keep = |i: &usize| ![3, 40].contains(i);
    let some: Vec<(f64, f64)> = (0..60).filter(keep).map(|i| points[i]).collect();
    let their: Vec<f64> = (0..60).filter(keep).map(|i| values[i]).collect();
    let alone = interpolate(&one_layer(cells, &some, &their), &fixed(2.0, 12)).unwrap();
    let Map::Drawn {
        values: with_holes, ..
    } = &surfaces.get(&key(Analyte::Ph)).unwrap().map
    else {
        panic!("no map")
    };
    assert_eq!(with_holes, drawn(&alone));
    assert_eq!(
        surfaces.get(&key(Analyte::Ph)).unwrap().skill.unwrap().n,
        58
    );
    assert_eq!(
        surfaces
            .get(&key(Analyte::Calcium))
            .unwrap()
            .skill
            .unwrap()
            .n,
        60
    );
}

#[test]
fn noise_is_not_drawn_and_the_reader_is_told() {
    let mut random = ChaCha8Rng::seed_from_u64(9);
    let (points, _) = hill(60, 300.0, 9);
    let values: Vec<f64> = points
        .iter()
        .map(|_| random.random_range(5.0..7.0))
        .collect();
    let made = one_layer(grid(0.0, 0.0, 60, 60, 5.0), &points, &values);
    for how in [SurfaceSettings::default(), fixed(2.0, 12)] {
        let surfaces = interpolate(&made, &how).unwrap();
        let Map::Flat {
            value,
            standard_error,
            why,
        } = surfaces.surfaces[0].map
        else {
            panic!("noise was drawn")
        };
        assert_eq!(why, Flat::NoSkill);
        assert!((value - values.iter().sum::<f64>() / 60.0).abs() < 1e-12);
        assert!((0.4..0.8).contains(&standard_error), "{standard_error}");
        let said = surfaces
            .remarks
            .iter()
            .find(|r| r.code == "no-map")
            .unwrap();
        assert!(
            said.what.contains("these 60 cores do not support a map"),
            "{said:?}"
        );
    }
}

#[test]
fn few_or_equal_results_give_one_value() {
    let (points, values) = hill(7, 300.0, 10);
    let why = |points: &[(f64, f64)], values: &[f64]| {
        let surfaces = interpolate(
            &one_layer(grid(0.0, 0.0, 9, 9, 5.0), points, values),
            &SurfaceSettings::default(),
        )
        .unwrap();
        match surfaces.surfaces[0].map {
            Map::Flat { why, .. } => why,
            Map::Drawn { .. } => panic!("a map of {} points", points.len()),
        }
    };
    assert_eq!(why(&points, &values), Flat::TooFew);
    let (points, _) = hill(30, 300.0, 11);
    assert_eq!(why(&points, &[4.5; 30]), Flat::Constant);
}

#[test]
fn fewer_than_three_points_in_every_layer_is_an_error() {
    let (points, values) = hill(4, 300.0, 12);
    let mut made = field(grid(0.0, 0.0, 9, 9, 5.0));
    let table = add_table(&mut made, "cores.csv", &points);
    let nan = f64::NAN;
    add_layer(
        &mut made,
        table,
        &key(Analyte::Ph),
        &[values[0], nan, nan, values[3]],
    );
    add_layer(
        &mut made,
        table,
        &key(Analyte::Calcium),
        &[nan, nan, nan, nan],
    );
    let errors = interpolate(&made, &SurfaceSettings::default()).unwrap_err();
    assert_eq!(errors.len(), 1);
    assert!(
        errors[0].to_string().contains("three usable points"),
        "{}",
        errors[0]
    );
    // One layer with three is enough for the field to be looked at.
    add_layer(
        &mut made,
        table,
        &key(Analyte::Potassium),
        &[1.0, 2.0, 3.0, nan],
    );
    assert_eq!(
        interpolate(&made, &SurfaceSettings::default())
            .unwrap()
            .surfaces
            .len(),
        2
    );
}

#[test]
fn settings_that_make_no_sense_are_all_named() {
    let (points, values) = hill(30, 300.0, 13);
    let made = one_layer(grid(0.0, 0.0, 9, 9, 5.0), &points, &values);
    let how = SurfaceSettings {
        power: FixedOrAuto::Fixed(-1.0),
        neighbours: FixedOrAuto::Fixed(0),
    };
    let text: Vec<String> = interpolate(&made, &how)
        .unwrap_err()
        .iter()
        .map(ToString::to_string)
        .collect();
    assert!(
        text[0].contains("surface.power is -1") && text[1].contains("surface.neighbours is 0"),
        "{text:?}"
    );
}

/// Many readings are searched on shelves: in passes, on a regular lattice that is all ties, and in clusters far from most cells.
#[test]
fn dense_readings_are_the_plain_formula_too() {
    let mut random = ChaCha8Rng::seed_from_u64(14);
    let passes: Vec<(f64, f64)> = (0..6_000)
        .map(|i| {
            (
                f64::from(i / 300) * 10.0 + random.random_range(-0.2..0.2),
                f64::from(i % 300) * 0.7,
            )
        })
        .collect();
    let lattice: Vec<(f64, f64)> = (0..6_400)
        .map(|i| (f64::from(i % 80) * 2.5, f64::from(i / 80) * 2.5))
        .collect();
    let clusters: Vec<(f64, f64)> = (0..6_000)
        .map(|i| {
            let at = f64::from(i % 3) * 20.0;
            (
                at + random.random_range(0.0..1.0),
                150.0 + at + random.random_range(0.0..1.0),
            )
        })
        .collect();
    for (name, points) in [
        ("passes", passes),
        ("lattice", lattice),
        ("clusters", clusters),
    ] {
        let values: Vec<f64> = points
            .iter()
            .map(|(x, y)| 5.0 + (x / 40.0).sin() + (y / 30.0).cos())
            .collect();
        let cores: Vec<(f64, f64, f64)> = points
            .iter()
            .zip(&values)
            .map(|(p, v)| (p.0, p.1, *v))
            .collect();
        let made = one_layer(grid(-5.0, -5.0, 42, 42, 5.0), &points, &values);
        for (power, neighbours) in [(2.0, 12), (1.5, 7), (2.2, 4)] {
            let surfaces = interpolate(&made, &fixed(power, neighbours)).unwrap();
            for (slot, value) in drawn(&surfaces).iter().enumerate().step_by(11) {
                let at = made.grid.centre(slot as u32);
                let plain = inverse_distance(&cores, at, power, Neighbourhood::Nearest(neighbours))
                    .unwrap();
                assert!(
                    (f64::from(*value) / plain - 1.0).abs() < 1e-6,
                    "{name}, power {power}, {neighbours}, {at:?}: {value}, {plain}"
                );
            }
        }
    }
}

/// A cluster of readings and a few cores far off: to most cells the whole cluster is about as far as its nearest point.
#[test]
fn a_far_cluster_is_the_plain_formula_too() {
    let mut random = ChaCha8Rng::seed_from_u64(20);
    let mut points: Vec<(f64, f64)> = (0..20)
        .map(|_| {
            (
                random.random_range(0.0..800.0),
                random.random_range(0.0..800.0),
            )
        })
        .collect();
    points.extend((0..1_500).map(|_| {
        (
            700.0 + random.random_range(0.0..20.0),
            700.0 + random.random_range(0.0..20.0),
        )
    }));
    let values: Vec<f64> = points
        .iter()
        .map(|(x, y)| 5.0 + (x / 40.0).sin() + (y / 30.0).cos())
        .collect();
    let cores: Vec<(f64, f64, f64)> = points
        .iter()
        .zip(&values)
        .map(|(p, v)| (p.0, p.1, *v))
        .collect();
    let made = one_layer(grid(0.0, 0.0, 200, 200, 4.0), &points, &values);
    let surfaces = interpolate(&made, &fixed(2.0, 30)).unwrap();
    for (slot, value) in drawn(&surfaces).iter().enumerate().step_by(37) {
        let at = made.grid.centre(slot as u32);
        let plain = inverse_distance(&cores, at, 2.0, Neighbourhood::Nearest(30)).unwrap();
        assert!(
            (f64::from(*value) / plain - 1.0).abs() < 1e-6,
            "{at:?}: {value}, {plain}"
        );
    }
}

/// A file may hold anything; a cell must not look at a hundred thousand rows at one place.
#[test]
fn a_hundred_thousand_rows_at_one_place_are_no_trouble() {
    let (mut points, mut values) = hill(60, 300.0, 15);
    points.extend(vec![(150.0, 150.0); 100_000]);
    values.extend((0..100_000).map(|i| 7.0 + f64::from(i % 2)));
    let made = one_layer(grid(0.0, 0.0, 60, 60, 5.0), &points, &values);
    let surfaces = interpolate(&made, &fixed(2.0, 12)).unwrap();
    assert_eq!(surfaces.surfaces[0].skill.unwrap().n, 61);
    let cell = made.grid.cell_at(150.0, 150.0).unwrap() as usize;
    assert!((drawn(&surfaces)[cell] - 7.5).abs() < 1e-3);
}

#[test]
fn doubt_grows_with_the_distance_to_the_cores() {
    let (points, values) = hill(100, 300.0, 16);
    let made = one_layer(grid(0.0, 0.0, 120, 60, 5.0), &points, &values);
    let surfaces = interpolate(&made, &SurfaceSettings::default()).unwrap();
    let Map::Drawn { standard_error, .. } = &surfaces.surfaces[0].map else {
        panic!("no map")
    };
    assert!(standard_error.iter().all(|d| d.is_finite() && *d > 0.0));
    let at = |x: f64, y: f64| standard_error[made.grid.cell_at(x, y).unwrap() as usize];
    let (core_x, core_y) = points[20];
    assert!(
        at(core_x, core_y) < at(599.0, 150.0),
        "the east half has no cores"
    );
    assert!(at(350.0, 150.0) < at(599.0, 150.0));
}

#[test]
fn a_mean_over_many_cells_is_surer_than_one_cell() {
    let (points, values) = hill(100, 300.0, 17);
    let made = one_layer(grid(0.0, 0.0, 60, 60, 5.0), &points, &values);
    let surfaces = interpolate(&made, &SurfaceSettings::default()).unwrap();
    let surface = &surfaces.surfaces[0];
    assert!(matches!(surface.map, Map::Drawn { .. }));
    let one = surface.mean_standard_error(&made.grid, &[1_830]);
    let half = surface.mean_standard_error(&made.grid, &(0..1_800).collect::<Vec<_>>());
    let all = surface.mean_standard_error(&made.grid, &(0..3_600).collect::<Vec<_>>());
    assert!(all < half && half < one / 3.0, "{all}, {half}, {one}");
    assert!(
        all > one / 20.0,
        "3,600 cells are not 3,600 independent errors: {all}, {one}"
    );
    assert_eq!(surface.mean_standard_error(&made.grid, &[]), f64::INFINITY);
}

#[test]
fn a_core_that_its_neighbours_contradict_is_shown_and_kept() {
    let (points, mut values) = hill(80, 300.0, 18);
    values
        .iter_mut()
        .enumerate()
        .for_each(|(i, v)| *v += 0.15 * (i as f64 * 2.4).sin());
    values[33] += 4.0;
    let made = one_layer(grid(0.0, 0.0, 60, 60, 5.0), &points, &values);
    let surfaces = interpolate(&made, &fixed(2.0, 8)).unwrap();
    let shown: Vec<_> = surfaces
        .remarks
        .iter()
        .filter(|r| r.code == "spatial-outlier")
        .collect();
    assert_eq!(shown.len(), 1, "its neighbours are not to blame: {shown:?}");
    let place = shown[0].place.as_ref().unwrap();
    assert_eq!(
        (place.row, &*place.file, place.column.as_deref()),
        (Some(35), "cores.csv", Some("ph"))
    );
    assert!(
        shown[0].what.contains("kept, check for a mix-up") && shown[0].help.is_some(),
        "{shown:?}"
    );
    assert_eq!(surfaces.surfaces[0].skill.unwrap().n, 80);
    values[33] -= 4.0;
    let calm = interpolate(
        &one_layer(made.grid.clone(), &points, &values),
        &fixed(2.0, 8),
    )
    .unwrap();
    assert!(
        calm.remarks.iter().all(|r| r.code != "spatial-outlier"),
        "{:?}",
        calm.remarks
    );
}

#[test]
fn a_core_that_is_odd_in_two_layers_is_named_once_with_both() {
    let (points, mut values) = hill(80, 300.0, 18);
    values
        .iter_mut()
        .enumerate()
        .for_each(|(i, v)| *v += 0.15 * (i as f64 * 2.4).sin());
    values[33] += 4.0;
    let mut made = one_layer(grid(0.0, 0.0, 60, 60, 5.0), &points, &values);
    values[60] -= 5.0;
    add_layer(&mut made, 0, &key(Analyte::Clay), &values);
    let surfaces = interpolate(&made, &fixed(2.0, 8)).unwrap();
    let shown: Vec<_> = surfaces
        .remarks
        .iter()
        .filter(|r| r.code == "spatial-outlier")
        .collect();
    assert_eq!(shown.len(), 2, "{shown:?}");
    let twice = shown
        .iter()
        .find(|remark| remark.place.as_ref().unwrap().row == Some(35))
        .unwrap();
    assert_eq!(
        twice.what.matches("neighbours suggest").count(),
        2,
        "{twice:?}"
    );
}

#[test]
fn tuning_finds_the_power_that_fits() {
    // Clear-cut patches ask for the nearest cores alone; a plane with noise asks for wide and even weights.
    let mut random = ChaCha8Rng::seed_from_u64(19);
    let (points, _) = hill(200, 400.0, 19);
    let patches: Vec<f64> = points
        .iter()
        .map(|(x, y)| {
            if ((x / 100.0) as i32 + (y / 100.0) as i32) % 2 == 0 {
                5.0
            } else {
                8.0
            }
        })
        .collect();
    let plane: Vec<f64> = points
        .iter()
        .map(|(x, _)| x / 200.0 + random.random_range(-1.0..1.0))
        .collect();
    let cells = grid(0.0, 0.0, 40, 40, 10.0);
    let power = |values: &[f64]| {
        let surfaces = interpolate(
            &one_layer(cells.clone(), &points, values),
            &SurfaceSettings::default(),
        )
        .unwrap();
        surfaces.surfaces[0].power
    };
    assert!(
        power(&patches) > power(&plane),
        "{}, {}",
        power(&patches),
        power(&plane)
    );
}

/// Sum of squared leave-one-out errors of inverse distance, power 2, all others.
fn left_out_squares(places: &[(f64, f64)], values: &[f64]) -> f64 {
    (0..places.len())
        .map(|own| {
            let (mut sum, mut weights) = (0.0, 0.0);
            for other in (0..places.len()).filter(|other| *other != own) {
                let (a, b) = (places[own], places[other]);
                let weight = 1.0 / ((a.0 - b.0).powi(2) + (a.1 - b.1).powi(2));
                sum += weight * values[other];
                weights += weight;
            }
            (sum / weights - values[own]).powi(2)
        })
        .sum()
}

/// Every order of numbers, by Heap's way.
fn each_order(values: &mut [f64], length: usize, seen: &mut impl FnMut(&[f64])) {
    if length == 1 {
        seen(values);
        return;
    }
    for at in 0..length {
        each_order(values, length - 1, seen);
        values.swap(if length.is_multiple_of(2) { at } else { 0 }, length - 1);
    }
}

#[test]
fn the_p_value_is_that_of_all_orders_of_the_values() {
    // Eight cores, each in the middle of a cell of its own.
    let places: Vec<(f64, f64)> = (0..8)
        .map(|i| {
            (
                50.0 + 100.0 * f64::from(i % 4),
                50.0 + 100.0 * f64::from(i / 4),
            )
        })
        .collect();
    for (values, name) in [
        ([1.0, 2.1, 3.3, 4.0, 1.4, 2.5, 3.1, 4.6], "a slope"),
        ([1.0, 2.0, 4.0, 3.0, 2.5, 1.5, 3.5, 4.5], "a rough slope"),
        ([1.0, 3.0, 2.0, 5.0, 2.5, 4.5, 1.5, 9.0], "hardly any"),
    ] {
        let truth = left_out_squares(&places, &values) * (1.0 + 1e-9);
        let (mut as_good, mut all) = (0.0, 0.0);
        each_order(&mut values.clone(), 8, &mut |order| {
            all += 1.0;
            as_good += f64::from(u8::from(left_out_squares(&places, order) <= truth));
        });
        assert_eq!(all, 40_320.0);
        let expected = as_good / all;
        let made = one_layer(grid(0.0, 0.0, 4, 2, 100.0), &places, &values);
        let surfaces = interpolate(&made, &fixed(2.0, 7)).unwrap();
        let found = surfaces.surfaces[0].skill.unwrap().p_value.unwrap();
        println!("{name}: all orders {expected:.5}, shuffles {found:.5}");
        // It stops after ten shuffles that do as well, or after 4,000: three standard errors of that, and the true order itself.
        let error = (expected / 10_f64.sqrt()).max((expected / 4_000.0).sqrt());
        assert!(
            (found - expected).abs() < 3.0 * error + 1.0 / 4_000.0,
            "{name}: {found}, {expected}"
        );
    }
}
