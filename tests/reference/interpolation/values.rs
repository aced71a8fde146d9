//! `idw.json` and `loocv.json`: numpy, GDAL `gdal_grid`, R gstat (versions in README.md).

use lowstave::surface::{Map, Neighbourhood, interpolate, inverse_distance};

use super::made_fields::{fixed, grid, one_layer};
use super::{column, json, pairs};

/// Double precision through another order of summation: a few units in the last of 16 digits.
const DOUBLE: f64 = 1e-12;
/// Maps are stored in single precision (6e-8); and on the query points 1 mm from a sample, the last digits of coordinates in the millions
/// (1e-9 m) move a weight by 1e-6.
const SINGLE: f64 = 1e-6;

#[test]
fn the_plain_formula_gives_the_values_of_numpy_gdal_and_gstat() {
    let mut compared = 0;
    for (field, content) in json("idw.json")["fields"].as_object().unwrap() {
        let samples = column(field, content["column"].as_str().unwrap());
        let queries = pairs(&content["query"]);
        for case in content["cases"].as_object().unwrap().values() {
            let who = match (case["nearest"].as_u64(), case["radius_m"].as_f64()) {
                (Some(count), _) => Neighbourhood::Nearest(count as usize),
                (_, Some(radius)) => Neighbourhood::Within(radius),
                _ => Neighbourhood::All,
            };
            for (at, expected) in queries.iter().zip(case["value"].as_array().unwrap()) {
                let found = inverse_distance(&samples, *at, case["power"].as_f64().unwrap(), who);
                match expected.as_f64() {
                    Some(expected) => assert!(
                        (found.unwrap() / expected - 1.0).abs() < DOUBLE,
                        "{field} {at:?}: {found:?}, {expected}"
                    ),
                    None => assert_eq!(found, None, "{field} {at:?}"),
                }
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 400, "two fields, four settings, 50 points each");
}

#[test]
fn the_map_gives_the_values_of_numpy_gdal_and_gstat() {
    let mut compared = 0;
    for (field, content) in json("idw.json")["fields"].as_object().unwrap() {
        let samples = column(field, content["column"].as_str().unwrap());
        let points: Vec<(f64, f64)> = samples.iter().map(|s| (s.0, s.1)).collect();
        let values: Vec<f64> = samples.iter().map(|s| s.2).collect();
        // A map has no radius.
        for case in content["cases"]
            .as_object()
            .unwrap()
            .values()
            .filter(|case| case["radius_m"].is_null())
        {
            let how = fixed(
                case["power"].as_f64().unwrap(),
                case["nearest"].as_u64().unwrap_or(1_000) as usize,
            );
            for (at, expected) in pairs(&content["query"])
                .iter()
                .zip(case["value"].as_array().unwrap())
            {
                // One cell of 2 mm whose centre is the point asked for.
                let made = one_layer(grid(at.0 - 1e-3, at.1 - 1e-3, 1, 1, 2e-3), &points, &values);
                let surfaces = interpolate(&made, &how).unwrap();
                let Map::Drawn { values, .. } = &surfaces.surfaces[0].map else {
                    panic!("{field}: no map")
                };
                let expected = expected.as_f64().unwrap();
                assert!(
                    (f64::from(values[0]) / expected - 1.0).abs() < SINGLE,
                    "{field} {at:?}: {}, {expected}",
                    values[0]
                );
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 300, "two fields, three settings, 50 points each");
}

#[test]
fn leave_one_out_gives_the_errors_of_numpy_scipy_and_gstat() {
    let mut compared = 0;
    let content = json("loocv.json");
    for (layer, expected) in content["layers"].as_object().unwrap() {
        let samples = match layer.as_str() {
            "meuse zinc" => column("meuse", "zinc"),
            "meuse log(zinc)" => column("meuse", "zinc")
                .into_iter()
                .map(|(x, y, zinc)| (x, y, zinc.ln()))
                .collect(),
            "BB.250 pH" => column("bb250", "ph_cacl2"),
            "BB.250 SOC" => column("bb250", "soc_pct"),
            "BB.250 clay" => column("bb250", "clay_pct"),
            other => panic!("no data for {other}"),
        };
        let points: Vec<(f64, f64)> = samples.iter().map(|s| (s.0, s.1)).collect();
        let values: Vec<f64> = samples.iter().map(|s| s.2).collect();
        let made = one_layer(grid(points[0].0, points[0].1, 1, 1, 1.0), &points, &values);
        let baseline = expected["field_mean_baseline"]["rmse"].as_f64().unwrap();
        for (label, count) in [("all points", 1_000), ("12 nearest", 12)] {
            for row in expected["idw"][label]["rows"].as_array().unwrap() {
                let surfaces =
                    interpolate(&made, &fixed(row["power"].as_f64().unwrap(), count)).unwrap();
                let skill = surfaces.surfaces[0].skill.unwrap();
                let near = |found: f64, expected: f64| (found - expected).abs() < 1e-11 * baseline;
                assert_eq!(skill.n, expected["n"].as_u64().unwrap() as usize);
                assert!(
                    near(skill.plain.rmse, row["rmse"].as_f64().unwrap()),
                    "{layer} {label}: {skill:?}, {row}"
                );
                assert!(
                    near(skill.plain.mean_error, row["me"].as_f64().unwrap()),
                    "{layer} {label}: {skill:?}, {row}"
                );
                assert!(
                    near(skill.baseline_rmse, baseline),
                    "{layer}: {skill:?}, {baseline}"
                );
                let efficiency = row["r2_against_leave_one_out_mean"].as_f64().unwrap();
                assert!(
                    (skill.plain.efficiency - efficiency).abs() < 1e-11,
                    "{layer} {label}: {skill:?}, {row}"
                );
                compared += 1;
            }
        }
    }
    assert_eq!(
        compared, 70,
        "five layers, two neighbourhoods, seven powers"
    );
}
