//! Whole surfaces of small invented fields, and their parts, against numbers by hand.

use std::sync::Arc;

use geo::MultiPolygon;

use super::flat::flat;
use super::joined::{Group, join};
use super::leave_one_out::Prediction;
use super::left_out::LeftOut;
use super::morans_i::of_nearest;
use super::neighbours::Neighbours;
use super::sites::Sites;
use super::*;
use crate::analyte::{Analyte, LayerKey};
use crate::field::{FieldLayer, Grid, Places, WorkingCrs};
use crate::plan::PointKind;

#[track_caller]
fn close(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() <= 1e-9 * wanted.abs().max(1.0),
        "{found} is not {wanted}"
    );
}

/// A square of whole cells with its corner at the origin.
fn square(side: usize, cell: f64) -> Grid {
    Grid {
        west: 0.0,
        north: side as f64 * cell,
        cell,
        columns: side,
        rows: side,
        cells: (0..(side * side) as u32).collect(),
        share: vec![1.0; side * side],
    }
}

/// A field with tables of points; layers are an analyte, the number of its table and its values.
fn field(grid: Grid, tables: &[Vec<(f64, f64)>], layers: &[(Analyte, usize, Vec<f64>)]) -> Field {
    let area = (grid.columns as f64 * grid.cell).powi(2);
    let places = tables.iter().enumerate().map(|(table, points)| Places {
        file: Arc::from(format!("{table}.csv").as_str()),
        kind: PointKind::Cores,
        x: points.iter().map(|p| p.0).collect(),
        y: points.iter().map(|p| p.1).collect(),
        row: (2..).take(points.len()).collect(),
        id: None,
        outside: Vec::new(),
    });
    let layers = layers.iter().map(|(analyte, table, values)| FieldLayer {
        key: LayerKey::new(analyte.clone(), None, None),
        places: *table,
        column: Arc::from(analyte.name()),
        unit: Arc::from("unit"),
        values: values.clone(),
        qualified: Vec::new(),
        derived: false,
    });
    Field {
        crs: WorkingCrs {
            longitude: -95.0,
            latitude: 41.0,
        },
        boundary: MultiPolygon::new(Vec::new()),
        workable: MultiPolygon::new(Vec::new()),
        kept_out: Vec::new(),
        area_m2: area,
        workable_m2: area,
        grid,
        cones: tables.iter().map(|_| None).collect(),
        places: places.collect(),
        layers: layers.collect(),
        remarks: Vec::new(),
    }
}

/// Places without any order in a square at the origin, no two pairs of them alike.
fn scattered(count: usize, width: f64) -> Vec<(f64, f64)> {
    let at =
        |i: usize, step: f64| (i as f64 * step + 0.5 + (i * i % 7) as f64 * 0.003).fract() * width;
    (0..count)
        .map(|i| (at(i, 0.754_877_666), at(i, 0.569_840_291)))
        .collect()
}

/// Numbers without any pattern, 0 to 10.
fn noise(count: usize) -> Vec<f64> {
    (0..count)
        .map(|i| (i * i * 7 + i * 3) as f64 % 11.0)
        .collect()
}

fn hill(points: &[(f64, f64)]) -> Vec<f64> {
    let of = |(x, y): &(f64, f64)| 6.0 + (x / 60.0).sin() + (y / 50.0).cos();
    points.iter().map(of).collect()
}

fn fixed(power: f64, neighbours: usize) -> SurfaceSettings {
    SurfaceSettings {
        power: FixedOrAuto::Fixed(power),
        neighbours: FixedOrAuto::Fixed(neighbours),
    }
}

fn of(surfaces: &Surfaces, analyte: &Analyte) -> Surface {
    let mut all = surfaces.surfaces.iter();
    all.find(|s| s.key.analyte == *analyte)
        .expect("a surface")
        .clone()
}

fn group_of(points: &[(f64, f64)]) -> Group<'static> {
    Group {
        x: points.iter().map(|p| p.0).collect::<Vec<_>>().into(),
        y: points.iter().map(|p| p.1).collect::<Vec<_>>().into(),
        layers: Vec::new(),
    }
}

fn sites_of(points: &[(f64, f64)]) -> Sites {
    Sites::new(
        &group_of(points),
        (0..points.len() as u32).collect(),
        points.len(),
    )
}

fn skill(efficiency: f64, p_value: f64) -> Skill {
    Skill {
        n: 10,
        rmse: 1.0,
        mean_error: 0.0,
        baseline_rmse: 1.0,
        efficiency,
        plain: PlainSkill {
            rmse: 1.0,
            mean_error: 0.0,
            efficiency,
        },
        efficiency_interval: None,
        p_value: Some(p_value),
        morans_i: None,
    }
}

/// A map needs eight places, an efficiency of 0.05 and a p value of 0.05 at most.
#[test]
fn a_map_needs_an_efficiency_and_a_p_value() {
    let is_drawn = |places: usize, efficiency: f64, p_value: f64| {
        let points = scattered(places, 100.0);
        let map = flat(
            &sites_of(&points),
            &hill(&points),
            Some(&skill(efficiency, p_value)),
        );
        map.is_none()
    };
    assert!(is_drawn(8, 0.051, 0.049));
    assert!(is_drawn(8, 0.05, 0.05));
    assert!(!is_drawn(7, 0.9, 0.001));
    assert!(!is_drawn(8, 0.049, 0.001));
    assert!(!is_drawn(8, 0.9, 0.051));
}

/// 1, 2, 4 and 9: mean 4, squares 9 + 4 + 0 + 25, so that the standard deviation is the root of 38 / 3. One place says nothing of how places differ.
#[test]
fn the_error_of_one_value_is_the_standard_deviation() {
    let points = scattered(4, 100.0);
    let Some(Map::Flat {
        value,
        standard_error,
        ..
    }) = flat(&sites_of(&points), &[1.0, 2.0, 4.0, 9.0], None)
    else {
        panic!("a map of four places");
    };
    close(value, 4.0);
    close(standard_error, (38.0_f64 / 3.0).sqrt());
    let one = flat(&sites_of(&points[..1]), &[5.0], None);
    assert!(
        matches!(one, Some(Map::Flat { standard_error, .. }) if standard_error == f64::INFINITY)
    );
}

fn surface(map: Map) -> Surface {
    Surface {
        key: LayerKey::new(Analyte::Ph, None, None),
        unit: "".into(),
        method: Method::InverseDistance,
        power: 2.0,
        neighbours: None,
        skill: Some(Skill {
            n: 16,
            ..skill(0.5, 0.01)
        }),
        logs: None,
        mean_error: None,
        map,
    }
}

/// Sixteen cores on 100 whole cells: 25 of them are four pieces of ground. A layer of one value may differ in each and is known from all cores:
/// 2 x sqrt(1 / 4 + 1 / 16); in a single piece no less surely than one core tells: sqrt(1 + 1 / 16) is held at 1.
#[test]
fn the_error_of_a_mean_of_a_flat_layer() {
    let grid = square(10, 5.0);
    let made = surface(Map::Flat {
        value: 3.0,
        standard_error: 2.0,
        why: Flat::NoSkill,
    });
    let error = |cells: usize| made.mean_standard_error(&grid, &(0..cells).collect::<Vec<_>>());
    close(error(25), 2.0 * (1.0_f64 / 4.0 + 1.0 / 16.0).sqrt());
    close(error(100), 2.0 * (1.0_f64 / 16.0 + 1.0 / 16.0).sqrt());
    close(error(3), 2.0);
}

/// A layer of noise beside a hill at the same places stays one value, though both would be drawn alike.
#[test]
fn a_flat_layer_stays_flat_beside_a_drawn_one() {
    let points = scattered(40, 200.0);
    let layers = [
        (Analyte::Ph, 0, hill(&points)),
        (Analyte::Phosphorus, 0, noise(40)),
        (Analyte::Potassium, 0, vec![3.0; 40]),
    ];
    let made = field(square(20, 10.0), &[points], &layers);
    let surfaces = interpolate(&made, &fixed(2.0, 8)).unwrap();
    assert!(matches!(of(&surfaces, &Analyte::Ph).map, Map::Drawn { .. }));
    assert!(matches!(
        of(&surfaces, &Analyte::Phosphorus).map,
        Map::Flat { .. }
    ));
    // Where all results are equal nothing is tested, and nothing divided by nothing.
    let equal = of(&surfaces, &Analyte::Potassium).skill.expect("a skill");
    assert_eq!((equal.p_value, equal.morans_i), (None, None));
    assert_eq!((equal.efficiency, equal.plain.efficiency), (0.0, 0.0));
}

/// Eight neighbours of forty are told as eight; all of them as all.
#[test]
fn the_neighbours_told_are_those_asked_for() {
    let points = scattered(12, 200.0);
    let values = hill(&points);
    let made = field(square(20, 10.0), &[points], &[(Analyte::Ph, 0, values)]);
    let told = |count| {
        of(
            &interpolate(&made, &fixed(2.0, count)).unwrap(),
            &Analyte::Ph,
        )
        .neighbours
    };
    assert_eq!(told(8), Some(8));
    assert_eq!(told(11), Some(11));
    assert_eq!(told(12), None);
    assert_eq!(told(50), None);
}

/// Two layers of one table of which one has a result where the other has none are not at the same places.
#[test]
fn two_halves_of_a_table_stay_apart() {
    let points = scattered(30, 200.0);
    let half = |odd: usize| -> Vec<f64> {
        let values = hill(&points);
        (0..30)
            .map(|i| if i % 2 == odd { values[i] } else { f64::NAN })
            .collect()
    };
    let layers = [(Analyte::Ph, 0, half(0)), (Analyte::Phosphorus, 0, half(1))];
    let made = field(square(20, 10.0), std::slice::from_ref(&points), &layers);
    assert_eq!(join(&made).len(), 2);
    let surfaces = interpolate(&made, &fixed(2.0, 8)).unwrap();
    for analyte in [Analyte::Ph, Analyte::Phosphorus] {
        assert_eq!(of(&surfaces, &analyte).skill.expect("a skill").n, 15);
    }
}

/// A power of nothing and one over a hundred are refused, a hundred is not.
#[test]
fn a_power_of_zero_or_over_a_hundred_is_refused() {
    let points = scattered(12, 200.0);
    let values = hill(&points);
    let made = field(square(20, 10.0), &[points], &[(Analyte::Ph, 0, values)]);
    for (power, is_taken) in [(0.0, false), (0.1, true), (100.0, true), (101.0, false)] {
        assert_eq!(
            interpolate(&made, &fixed(power, 8)).is_ok(),
            is_taken,
            "{power}"
        );
    }
}

/// Predicted less observed: 1, 0 and 1 of three are 2 / 3 on average; plainly 3, 0 and 2, 5 / 3.
#[test]
fn the_mean_errors_are_means() {
    let of = |predicted: [f64; 3]| Prediction {
        observed: vec![1.0, 2.0, 4.0],
        predicted: predicted.to_vec(),
    };
    let skill = of([2.0, 2.0, 5.0]).skill(&of([4.0, 2.0, 6.0]));
    close(skill.mean_error, 2.0 / 3.0);
    close(skill.plain.mean_error, 5.0 / 3.0);
}

/// Forty neighbours of sixty are forty: each place from the forty nearest others, by the square of the distance.
#[test]
fn all_neighbours_that_are_asked_for_are_held() {
    let points = scattered(60, 300.0);
    let values = hill(&points);
    let made = field(
        square(30, 10.0),
        std::slice::from_ref(&points),
        &[(Analyte::Ph, 0, values.clone())],
    );
    let squares: f64 = (0..60)
        .map(|place| {
            let from = |i: usize| {
                let ((x, y), (a, b)) = (points[place], points[i]);
                (x - a).powi(2) + (y - b).powi(2)
            };
            let mut others: Vec<usize> = (0..60).filter(|i| *i != place).collect();
            others.sort_by(|a, b| from(*a).total_cmp(&from(*b)));
            let near = &others[..40];
            let sum: f64 = near.iter().map(|i| values[*i] / from(*i)).sum();
            let all: f64 = near.iter().map(|i| 1.0 / from(*i)).sum();
            (sum / all - values[place]).powi(2)
        })
        .sum();
    let skill = of(&interpolate(&made, &fixed(2.0, 40)).unwrap(), &Analyte::Ph).skill;
    close(skill.expect("a skill").plain.rmse, (squares / 60.0).sqrt());
}

/// A power so high that the nearest core alone counts has errors that are numbers.
#[test]
fn a_high_power_has_finite_errors() {
    let points = scattered(30, 300.0);
    let values = hill(&points);
    let made = field(square(30, 10.0), &[points], &[(Analyte::Ph, 0, values)]);
    for power in [15.0, 40.0, 100.0] {
        let skill = of(
            &interpolate(&made, &fixed(power, 12)).unwrap(),
            &Analyte::Ph,
        )
        .skill;
        let skill = skill.expect("a skill");
        assert!(
            skill.rmse.is_finite() && skill.plain.rmse.is_finite(),
            "{power}: {skill:?}"
        );
    }
}

/// A lattice of six by six, where most places have several that tie for the eighth nearest: each has its share of what is left of the eight.
#[test]
fn morans_i_shares_ties() {
    let points: Vec<(f64, f64)> = (0..36)
        .map(|i| (f64::from(i % 6), f64::from(i / 6)))
        .collect();
    let values = noise(36);
    let sites = sites_of(&points);
    let neighbours = Neighbours::new(&sites);
    let left_out = LeftOut::new(&neighbours, 8, Vec::new());
    let mean = values.iter().sum::<f64>() / 36.0;
    let (mut cross, mut squares) = (0.0, 0.0);
    for (place, (x, y)) in points.iter().enumerate() {
        let from = |i: usize| {
            let (a, b) = points[i];
            (x - a).powi(2) + (y - b).powi(2)
        };
        let mut distances: Vec<f64> = (0..36).filter(|i| *i != place).map(from).collect();
        distances.sort_by(f64::total_cmp);
        let eighth = distances[7];
        let inner = distances.iter().filter(|d| **d < eighth).count() as f64;
        let ties = distances.iter().filter(|d| **d == eighth).count() as f64;
        let lag: f64 = (0..36)
            .filter(|i| *i != place && from(*i) <= eighth)
            .map(|i| {
                let share = if from(i) < eighth {
                    1.0
                } else {
                    (8.0 - inner) / ties
                };
                share * (values[i] - mean)
            })
            .sum();
        cross += (values[place] - mean) * lag / 8.0;
        squares += (values[place] - mean).powi(2);
    }
    close(
        of_nearest(&left_out, &sites.source, &values).expect("an index"),
        cross / squares,
    );
    assert_eq!(of_nearest(&left_out, &sites.source, &[4.0; 36]), None);
    // Nothing is alike where nothing is near.
    assert!(morans_i(&[1.0, 2.0, 4.0, 9.0], &[const { Vec::new() }; 4]).is_none());
}

/// Forty cores within a metre and twenty far off, where the map's cells lie far from any: the places of the heap do without up to 24, that are
/// held in spare (where two are each other's nearest one may stop before), and keep the four that are asked for.
#[test]
fn twenty_four_neighbours_are_held_in_spare() {
    let mut points = scattered(40, 1.0);
    points.extend(
        scattered(20, 4_000.0)
            .into_iter()
            .map(|(x, y)| (x + 900.0, y + 900.0)),
    );
    let sites = sites_of(&points);
    let neighbours = Neighbours::new(&sites);
    let left_out = LeftOut::new(&neighbours, 4, vec![1e8; 200]);
    let mut at_the_end = 0;
    for place in 0..60 {
        assert_eq!(left_out.near(place).len(), 28);
        assert!(left_out.matched(place).len() >= 4);
        let is_of_heap = sites.x[left_out.sites[place] as usize] < 2.0;
        at_the_end += usize::from(is_of_heap && left_out.matched(place).len() == 4);
    }
    assert!(at_the_end > 20, "{at_the_end} of the heap");
}

/// On a lattice a place is left out by itself, not with those of its column or row.
#[test]
fn a_place_of_a_lattice_is_left_out_alone() {
    let points: Vec<(f64, f64)> = (0..25)
        .map(|i| (f64::from(i % 5), f64::from(i / 5)))
        .collect();
    let sites = sites_of(&points);
    let left_out = LeftOut::new(&Neighbours::new(&sites), 8, Vec::new());
    for place in 0..25 {
        assert_eq!(left_out.without(place, &sites), [left_out.sites[place]]);
    }
}

/// Drawn with everything tuned, on a square with its corner so far north.
fn auto(
    points: &[(f64, f64)],
    values: Vec<f64>,
    (side, cell): (usize, f64),
    north: f64,
) -> Surface {
    let mut grid = square(side, cell);
    grid.north += north;
    let points = points.iter().map(|(x, y)| (*x, y + north)).collect();
    let made = field(grid, &[points], &[(Analyte::Ph, 0, values)]);
    let surfaces = interpolate(&made, &SurfaceSettings::default()).unwrap();
    of(&surfaces, &Analyte::Ph)
}

/// 3 + 0.02 x - 0.01 y at forty places is drawn as that plane wherever it stays within what was observed, wherever the field lies.
#[test]
fn a_slope_is_drawn_as_a_plane() {
    let points = scattered(40, 200.0);
    let plane = |x: f64, y: f64| 3.0 + 0.02 * x - 0.01 * y;
    let values: Vec<f64> = points.iter().map(|(x, y)| plane(*x, *y)).collect();
    let low = values.iter().copied().fold(f64::MAX, f64::min);
    let high = values.iter().copied().fold(f64::MIN, f64::max);
    for north in [0.0, 5_000.0] {
        let drawn = auto(&points, values.clone(), (20, 10.0), north);
        assert_eq!(drawn.method, Method::PlaneAndInverseDistance);
        let Map::Drawn { values, .. } = &drawn.map else {
            panic!("a map");
        };
        for (cell, value) in values.iter().enumerate() {
            let x = (cell % 20) as f64 * 10.0 + 5.0;
            let y = 195.0 - (cell / 20) as f64 * 10.0;
            let wanted = plane(x, y).clamp(low, high);
            assert!(
                (f64::from(*value) - wanted).abs() < 1e-5,
                "{x}, {y}: {value} is not {wanted}"
            );
        }
    }
}

/// Forty places along 400 m that lie a few centimetres off a straight line say nothing of a slope across it: no plane, however well the line slopes.
/// Off by some metres they do.
#[test]
fn a_transect_that_is_all_but_straight_has_no_plane() {
    let method = |off: f64, is_north: bool| {
        let places = (0..40).map(|i| {
            let along = f64::from(i) * 10.0 + 5.0;
            let across = 200.0 + off * f64::from((i * 7) % 5 - 2);
            if is_north {
                (across, along)
            } else {
                (along, across)
            }
        });
        let points: Vec<(f64, f64)> = places.collect();
        let values = (0..40).map(|i| 3.1 + 0.2 * f64::from(i)).collect();
        auto(&points, values, (40, 10.0), 0.0).method
    };
    for is_north in [false, true] {
        assert_eq!(method(0.02, is_north), Method::InverseDistance);
        assert_eq!(method(20.0, is_north), Method::PlaneAndInverseDistance);
    }
}
