//! Maps without a fold of the cores: those that the plain formula makes of the cores that are left.

use lowstave::analyte::Analyte;
use lowstave::field::Field;
use lowstave::plan::{FixedOrAuto, SurfaceSettings};
use lowstave::surface::{LeftOutFold, Map, Method, Neighbourhood, interpolate, inverse_distance};

use crate::made_fields::{add_layer, fixed, grid, key, one_layer};

/// Sixty cores, none of them evenly placed; folds of six.
fn cores() -> Vec<(f64, f64)> {
    let off = |i: usize| (i * 37 % 11) as f64 * 2.0;
    (0..60)
        .map(|i| {
            (
                (i % 10) as f64 * 60.0 + off(i),
                (i / 10) as f64 * 60.0 + off(i + 5),
            )
        })
        .collect()
}

fn fold(at: (f64, f64)) -> usize {
    (at.0 / 150.0) as usize + 5 * (at.1 / 130.0) as usize
}

fn targets() -> Vec<(f64, f64)> {
    let even = (0..200).map(|i| {
        (
            f64::from(i % 20) * 30.0 + 3.0,
            f64::from(i / 20) * 35.0 + 1.0,
        )
    });
    even.chain(cores()).collect()
}

/// Two partings: of the first nothing is left out here.
fn folds(at: (f64, f64)) -> Vec<usize> {
    vec![(at.0 as usize) % 5, fold(at)]
}

fn in_second(fold: usize) -> LeftOutFold {
    LeftOutFold { parting: 1, fold }
}

/// What the redrawn first layer says at every target, and what a function of the cores that are left says.
fn compared(
    field: &Field,
    settings: &SurfaceSettings,
    method: Method,
    by_hand: impl Fn(&[(f64, f64, f64)], (f64, f64), (f64, Neighbourhood)) -> f64,
) {
    let surfaces = interpolate(field, settings).unwrap();
    assert_eq!(surfaces.surfaces[0].method, method);
    let redrawing = surfaces.redrawing(field, targets(), &folds);
    let rows: Vec<usize> = (0..targets().len()).rev().collect();
    let who = surfaces.surfaces[0].neighbours;
    let who = who.map_or(Neighbourhood::All, Neighbourhood::Nearest);
    for left_out in [0, 6, 13] {
        let kept: Vec<(f64, f64, f64)> = cores()
            .into_iter()
            .zip(&field.layers[0].values)
            .filter(|(at, _)| fold(*at) != left_out)
            .map(|((x, y), value)| (x, y, *value))
            .collect();
        assert!(kept.len() < 60);
        let redrawn = redrawing.without(in_second(left_out), &rows);
        let Map::Drawn { values, .. } = &redrawn.surfaces[0].map else {
            panic!("no map");
        };
        for (row, value) in rows.iter().zip(values) {
            let weighing = (surfaces.surfaces[0].power, who);
            let expected = by_hand(&kept, targets()[*row], weighing);
            assert!(
                (f64::from(*value) - expected).abs() < 1e-5 * expected.abs(),
                "{value} {expected} at {row}"
            );
        }
    }
}

fn waves((x, y): (f64, f64)) -> f64 {
    6.0 + (x / 110.0).sin() + (y / 90.0).cos()
}

#[test]
fn a_map_without_a_fold_is_that_of_the_cores_that_are_left() {
    let values: Vec<f64> = cores().into_iter().map(waves).collect();
    let field = one_layer(grid(-10.0, -10.0, 64, 40, 10.0), &cores(), &values);
    for (power, neighbours) in [(2.0, 12), (1.5, 8), (3.0, 60)] {
        let settings = fixed(power, neighbours);
        let by_hand = |kept: &[(f64, f64, f64)], at, (power, who)| {
            inverse_distance(kept, at, power, who).unwrap()
        };
        compared(&field, &settings, Method::InverseDistance, by_hand);
    }
}

/// Least squares by Cramer's rule.
fn plane(points: &[(f64, f64, f64)]) -> impl Fn(f64, f64) -> f64 {
    let n = points.len() as f64;
    let mean = |of: fn(&(f64, f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / n;
    let (mx, my, mz) = (mean(|p| p.0), mean(|p| p.1), mean(|p| p.2));
    let sum = |of: &dyn Fn(f64, f64, f64) -> f64| -> f64 {
        let all = points.iter();
        all.map(|(x, y, z)| of(x - mx, y - my, z - mz)).sum()
    };
    let (xx, yy, xy) = (
        sum(&|x, _, _| x * x),
        sum(&|_, y, _| y * y),
        sum(&|x, y, _| x * y),
    );
    let (xz, yz) = (sum(&|x, _, z| x * z), sum(&|_, y, z| y * z));
    let whole = xx * yy - xy * xy;
    let (east, north) = ((xz * yy - yz * xy) / whole, (yz * xx - xz * xy) / whole);
    move |x, y| mz + east * (x - mx) + north * (y - my)
}

#[test]
fn a_plane_is_taken_out_of_the_cores_that_are_left_and_put_back() {
    let slope = |(x, y): (f64, f64)| 5.0 + x / 300.0 + y / 500.0 + 0.2 * waves((y, x));
    let values: Vec<f64> = cores().into_iter().map(slope).collect();
    let field = one_layer(grid(-10.0, -10.0, 64, 40, 10.0), &cores(), &values);
    let settings = SurfaceSettings {
        power: FixedOrAuto::Auto,
        neighbours: FixedOrAuto::Auto,
    };
    let by_hand = |kept: &[(f64, f64, f64)], at: (f64, f64), (power, who)| {
        let plane = plane(kept);
        let left: Vec<(f64, f64, f64)> = kept
            .iter()
            .map(|&(x, y, z)| (x, y, z - plane(x, y)))
            .collect();
        let value = inverse_distance(&left, at, power, who).unwrap() + plane(at.0, at.1);
        let (low, high) = kept
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |ends, p| {
                (ends.0.min(p.2), ends.1.max(p.2))
            });
        value.clamp(low, high)
    };
    compared(&field, &settings, Method::PlaneAndInverseDistance, by_hand);
}

#[test]
fn one_value_for_the_field_is_the_mean_of_the_cores_that_are_left() {
    let values: Vec<f64> = cores().into_iter().map(waves).collect();
    let mut field = one_layer(grid(-10.0, -10.0, 64, 40, 10.0), &cores(), &values);
    let noise: Vec<f64> = (0..60).map(|i| f64::from(i * i * 31 % 97)).collect();
    add_layer(&mut field, 0, &key(Analyte::Phosphorus), &noise);
    let surfaces = interpolate(&field, &fixed(2.0, 12)).unwrap();
    let at = surfaces
        .surfaces
        .iter()
        .position(|surface| matches!(surface.map, Map::Flat { .. }))
        .expect("noise gets no map");
    let redrawn = surfaces
        .redrawing(&field, targets(), &folds)
        .without(in_second(6), &[0]);
    let kept: Vec<f64> = cores()
        .into_iter()
        .zip(noise)
        .filter(|(place, _)| fold(*place) != 6)
        .map(|(_, value)| value)
        .collect();
    let mean = kept.iter().sum::<f64>() / kept.len() as f64;
    let Map::Flat { value, .. } = redrawn.surfaces[at].map else {
        panic!("a map");
    };
    assert!((value - mean).abs() < 1e-9, "{value} {mean}");
}
