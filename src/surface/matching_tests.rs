use serde_json::Value;

use super::*;

fn points(value: &Value) -> Vec<(f64, f64)> {
    let number = |value: &Value| value.as_f64().unwrap();
    let rows = value.as_array().unwrap().iter();
    rows.map(|row| (number(&row[0]), number(&row[1]))).collect()
}

fn squared(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).powi(2) + (a.1 - b.1).powi(2)
}

/// Made by `tests/reference/interpolation/nndm.py`, an independent script after the article.
#[test]
fn the_neighbours_done_without_are_those_of_an_independent_script() {
    let text = include_str!("../../tests/reference/interpolation/nndm.json");
    let content: Value = serde_json::from_str(text).unwrap();
    let cells = points(&content["cells"]);
    for case in content["cases"].as_array().unwrap() {
        let places = points(&case["places"]);
        let near: Vec<Vec<Neighbour>> = (0..places.len())
            .map(|own| {
                let others = (0..places.len()).filter(|other| *other != own);
                let mut near: Vec<Neighbour> = others
                    .map(|other| Neighbour {
                        squared: squared(places[own], places[other]),
                        site: other as u32,
                    })
                    .collect();
                near.sort_by(|a, b| a.squared.total_cmp(&b.squared));
                near
            })
            .collect();
        let of_cells = cells
            .iter()
            .map(|cell| {
                let distances = places.iter().map(|place| squared(*cell, *place));
                distances.fold(f64::INFINITY, f64::min)
            })
            .collect();
        let near: Vec<&[Neighbour]> = near.iter().map(Vec::as_slice).collect();
        let found = skips(&near, places.len() - 1, of_cells);
        let expected: Vec<usize> = case["skips"]
            .as_array()
            .unwrap()
            .iter()
            .map(|skip| skip.as_u64().unwrap() as usize)
            .collect();
        assert_eq!(found, expected, "{}", case["kind"]);
    }
}
