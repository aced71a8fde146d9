//! The names of columns that real files carry, and what each is read as.

use std::collections::BTreeMap;
use std::path::PathBuf;

use lowstave::analyte::{Catalogue, Meaning, meaning_of};
use lowstave::intake::{PointTable, ReadingRules, points_from_bytes};
use lowstave::plan::{BelowDetection, Depths, PointKind, PointsSettings};
use lowstave::provenance::Place;
use serde::Deserialize;

#[derive(Deserialize)]
struct Headers {
    results: BTreeMap<String, String>,
    not_results: BTreeMap<String, String>,
    x: Names,
    y: Names,
    id: Names,
    depth: Names,
    top_and_bottom: Pairs,
}

#[derive(Deserialize)]
struct Names {
    names: Vec<String>,
}

#[derive(Deserialize)]
struct Pairs {
    pairs: Vec<(String, String)>,
}

fn headers() -> Headers {
    toml::from_str(include_str!("headers.toml")).expect("the list of headers")
}

fn read(text: &str) -> Result<PointTable, String> {
    let settings = PointsSettings {
        file: PathBuf::from("lab.csv"),
        kind: PointKind::Cores,
        crs: Some("EPSG:4326".to_owned()),
        x: None,
        y: None,
        id: None,
        depths: Depths::Unknown,
        columns: Vec::new(),
        ignore: Vec::new(),
        leave_out: Vec::new(),
        reading: lowstave::plan::FileForm::default(),
        cone: None,
        laboratory: None,
        sampled: None,
        place: Place::file("plan.toml"),
    };
    let rules = ReadingRules {
        below_detection: BelowDetection::Half,
        bulk_density: None,
        crop: "corn".to_owned(),
        season: None,
        units: lowstave::units::UnitSystem::Metric,
    };
    points_from_bytes(text.as_bytes(), &settings, &rules)
        .map(|(table, _)| table)
        .map_err(|errors| errors.iter().map(ToString::to_string).collect())
}

fn assert_none(wrong: Vec<String>) {
    assert!(
        wrong.is_empty(),
        "{} wrong:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn the_list_of_headers_is_long() {
    let all = headers();
    let roles = [&all.x, &all.y, &all.id, &all.depth].map(|role| role.names.len());
    let count = all.results.len() + all.not_results.len() + roles.iter().sum::<usize>();
    assert!(count >= 250, "{count} headers");
}

#[test]
fn every_name_of_a_result_is_read_as_its_analyte_method_and_unit() {
    let check = |(name, wanted): (&String, &String)| match meaning_of(name) {
        Meaning::Result(found) => {
            let method = found
                .method
                .as_ref()
                .map_or_else(String::new, |m| format!("/{m}"));
            let read = format!("{}{method}", found.analyte);
            let has_unit = found.unit.as_deref().is_none_or(|unit| {
                Catalogue::built_in()
                    .conversion(&found.analyte, unit, "corn")
                    .is_ok()
            });
            (read != *wanted || !has_unit).then(|| format!("{name}: {read}, unit {:?}", found.unit))
        }
        other => Some(format!("{name}: {other:?}")),
    };
    assert_none(headers().results.iter().filter_map(check).collect());
}

#[test]
fn names_that_are_no_result_are_not_read_as_one() {
    let check = |(name, wanted): (&String, &String)| {
        let read = match meaning_of(name) {
            Meaning::Result(_) => "result",
            Meaning::Tie(_) => "tie",
            Meaning::Oxide(_) => "oxide",
            Meaning::Recommendation => "recommendation",
            Meaning::Unknown => "unknown",
        };
        (read != wanted).then(|| format!("{name}: {read}"))
    };
    assert_none(headers().not_results.iter().filter_map(check).collect());
}

#[test]
fn every_name_of_a_place_and_of_a_sample_is_found() {
    let all = headers();
    let check = |header: String, name: &String| {
        let text = format!("{header},pH water\n-97.125,41.205,A1,6.5\n-97.126,41.206,A2,6.7\n");
        match read(&text) {
            Ok(table) => {
                let id = table
                    .id
                    .as_ref()
                    .and_then(|ids| ids.first())
                    .map(ToString::to_string);
                let is_right =
                    table.x[0] == -97.125 && table.y[0] == 41.205 && id.as_deref() == Some("A1");
                (!is_right).then(|| format!("{name}: {:?} {:?} {id:?}", table.x, table.y))
            }
            Err(error) => Some(format!("{name}: {error}")),
        }
    };
    let x = all.x.names.iter().zip(&all.y.names);
    let places = x.filter_map(|(x, y)| check(format!("{x},{y},id"), x));
    let ids = all
        .id
        .names
        .iter()
        .filter_map(|id| check(format!("lon,lat,{id}"), id));
    assert_none(places.chain(ids).collect());
}

#[test]
fn every_name_of_a_depth_is_found() {
    let all = headers();
    let of = |table: Result<PointTable, String>| {
        table.map(|table| table.layers.first().and_then(|layer| layer.key.depth))
    };
    let one = all.depth.names.iter().filter_map(|name| {
        let text = format!(
            "lon,lat,{name},pH water\n-97.125,41.205,0-20 cm,6.5\n-97.126,41.206,0-20 cm,6.7\n"
        );
        let read = of(read(&text));
        let is_right = matches!(&read, Ok(Some(depth)) if depth.as_written() == "0-20 cm");
        (!is_right).then(|| format!("{name}: {read:?}"))
    });
    let two = all.top_and_bottom.pairs.iter().filter_map(|(top, bottom)| {
        let text = format!(
            "lon,lat,{top},{bottom},pH water\n-97.125,41.205,0,6,6.5\n-97.126,41.206,0,6,6.7\n"
        );
        let read = of(read(&text));
        (!matches!(&read, Ok(Some(_)))).then(|| format!("{top}, {bottom}: {read:?}"))
    });
    assert_none(one.chain(two).collect());
}
