//! Outside checks of inverse distance, leave-one-out and Moran's I. Sources, versions and licences: `README.md` beside this file.

#![allow(
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test may stop at anything unexpected"
)]

#[path = "../../stages/made_fields.rs"]
mod made_fields;

mod edge_cases;
mod moran;
mod published;
mod values;
mod withheld;

use std::fs;
use std::path::PathBuf;

fn read(name: &str) -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference/interpolation")
        .join(name);
    fs::read_to_string(path).unwrap()
}

fn json(name: &str) -> serde_json::Value {
    serde_json::from_str(&read(name)).unwrap()
}

/// x, y and a column of one of the data sets; rows without a number are left out.
fn column(field: &str, name: &str) -> Vec<(f64, f64, f64)> {
    let text = read(if field == "meuse" {
        "meuse.csv"
    } else {
        "limesoda_bb250.csv"
    });
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let headers = reader.headers().unwrap().clone();
    let at = |wanted: &str| headers.iter().position(|h| h == wanted).unwrap();
    let (x, y, value) = (at("x"), at("y"), at(name));
    let number = |record: &csv::StringRecord, i: usize| record[i].parse::<f64>().ok();
    reader
        .records()
        .map(Result::unwrap)
        .filter_map(|r| Some((number(&r, x)?, number(&r, y)?, number(&r, value)?)))
        .collect()
}

fn pairs(value: &serde_json::Value) -> Vec<(f64, f64)> {
    value
        .as_array()
        .unwrap()
        .iter()
        .map(|p| (p[0].as_f64().unwrap(), p[1].as_f64().unwrap()))
        .collect()
}
