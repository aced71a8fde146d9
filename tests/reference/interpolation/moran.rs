//! `moran.json`: numpy, esda/libpysal, R spdep (versions in README.md). And a chain of four by hand.

use lowstave::surface::{interpolate, morans_i};

use super::made_fields::{fixed, grid, one_layer};
use super::{column, json};

/// Sums over 250 values in another order.
const DOUBLE: f64 = 1e-10;

fn distances(samples: &[(f64, f64, f64)], i: usize) -> Vec<(usize, f64)> {
    let far = |j: usize| (samples[i].0 - samples[j].0).hypot(samples[i].1 - samples[j].1);
    (0..samples.len())
        .filter(|&j| j != i)
        .map(|j| (j, far(j)))
        .collect()
}

/// Weights of one row of each kind of the file, before standardising.
fn row(kind: &str, samples: &[(f64, f64, f64)], i: usize) -> Vec<(usize, f64)> {
    let mut others = distances(samples, i);
    let nearest = |others: &mut Vec<(usize, f64)>, count: usize| {
        others.sort_by(|a, b| a.1.total_cmp(&b.1));
        others.truncate(count);
        for other in others {
            other.1 = 1.0;
        }
    };
    match kind {
        k if k.starts_with("k=8") => nearest(&mut others, 8),
        k if k.starts_with("k=6") => nearest(&mut others, 6),
        k if k.starts_with("within 60 m") => {
            others.retain(|other| other.1 <= 60.0);
            for other in &mut others {
                other.1 = 1.0;
            }
        }
        k if k.starts_with("inverse distance") => {
            for other in &mut others {
                other.1 = 1.0 / other.1;
            }
        }
        other => panic!("no weights for {other}"),
    }
    if !kind.contains("not standardised") {
        let sum: f64 = others.iter().map(|other| other.1).sum();
        for other in &mut others {
            other.1 /= sum;
        }
    }
    others
}

#[test]
fn morans_i_gives_the_values_of_esda_and_spdep() {
    let samples = column("bb250", "ph_cacl2");
    let values: Vec<f64> = samples.iter().map(|s| s.2).collect();
    let content = json("moran.json");
    let kinds = content["values"].as_object().unwrap();
    assert_eq!(kinds.len(), 5);
    for (kind, expected) in kinds {
        let weights: Vec<Vec<(usize, f64)>> =
            (0..samples.len()).map(|i| row(kind, &samples, i)).collect();
        let found = morans_i(&values, &weights).unwrap();
        for (name, ours) in [
            ("I", found.i),
            ("expectation", found.expectation),
            ("variance_normality", found.variance_normality),
            ("variance_randomisation", found.variance_randomisation),
        ] {
            let theirs = expected[name].as_f64().unwrap();
            assert!(
                (ours / theirs - 1.0).abs() < DOUBLE,
                "{kind}, {name}: {ours}, {theirs}"
            );
        }
    }
}

/// The stage reports Moran's I with the 8 nearest, rows standardised. BB.250 lies on a triangular grid where the 8th and 9th nearest of some
/// cores differ by less than 1e-9; those share a place here, which moves the value in its fourth decimal at most.
#[test]
fn the_stage_reports_morans_i_of_the_eight_nearest() {
    let samples = column("bb250", "ph_cacl2");
    let points: Vec<(f64, f64)> = samples.iter().map(|s| (s.0, s.1)).collect();
    let values: Vec<f64> = samples.iter().map(|s| s.2).collect();
    let surfaces = interpolate(
        &one_layer(grid(points[0].0, points[0].1, 1, 1, 1.0), &points, &values),
        &fixed(2.0, 12),
    )
    .unwrap();
    let expected = json("moran.json")["values"]["k=8 nearest, row-standardised"]["I"]
        .as_f64()
        .unwrap();
    let found = surfaces.surfaces[0].skill.unwrap().morans_i.unwrap();
    assert!((found - expected).abs() < 1e-3, "{found}, {expected}");
}

/// Four values 1, 2, 9, 10 in a chain (definition of Moran's I as published by Cliff and Ord 1981; the numbers worked by hand): binary
/// weights 0.39487, row-standardised 0.53846, expectation -1/3.
#[test]
fn a_chain_of_four_by_hand() {
    let binary = [
        vec![(1, 1.0)],
        vec![(0, 1.0), (2, 1.0)],
        vec![(1, 1.0), (3, 1.0)],
        vec![(2, 1.0)],
    ];
    let rows = [
        vec![(1, 1.0)],
        vec![(0, 0.5), (2, 0.5)],
        vec![(1, 0.5), (3, 0.5)],
        vec![(2, 1.0)],
    ];
    let values = [1.0, 2.0, 9.0, 10.0];
    assert!((morans_i(&values, &binary).unwrap().i - 0.39487).abs() < 1e-5);
    assert!((morans_i(&values, &rows).unwrap().i - 0.53846).abs() < 1e-5);
    assert!((morans_i(&values, &rows).unwrap().expectation + 1.0 / 3.0).abs() < 1e-12);
    assert_eq!(
        morans_i(&[1.0; 4], &binary),
        None,
        "equal values have no pattern"
    );
}
