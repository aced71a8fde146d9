//! The samples as the program itself delivers them: what holds for the small invented field must hold for whole ones.

use lowstave::deliver::Delivery;
use serde_json::Value;

use super::{sample, schemas, shapefile, task_data, text_of};

const PLANS: [&str; 3] = [
    "alder-flat/plan.toml",
    "alder-flat/plan-metric.toml",
    "open-field/plan.toml",
];

fn json(delivery: &Delivery, path: &str) -> Value {
    serde_json::from_str(&text_of(delivery, path)).unwrap()
}

#[test]
fn rates_at_a_thousand_places_are_those_of_the_geojson_in_every_format() {
    // On the open field nothing goes out before it is tested.
    for plan in &PLANS[..2] {
        let delivery = sample(plan, &[]);
        let in_shapes = shapefile::compare(&delivery);
        let (compared, in_zones) = task_data::compare(&delivery, 0.0);
        assert!(
            compared == 1_000 && in_zones > 400 && in_shapes > 400,
            "{plan}: {in_shapes} and {in_zones} places in a zone"
        );
        // Cells are 5 m wide: up to half their diagonal from an edge a cell may hold its neighbour's rate.
        let (compared, in_zones) = task_data::compare(&sample(plan, &["--grid"]), 3.6);
        assert!(
            compared > 700 && in_zones > 300,
            "{plan}: {compared} compared, {in_zones} in a zone"
        );
    }
}

#[test]
fn a_report_with_every_layer_of_a_field_of_59_hectares_is_under_2_mb() {
    let delivery = sample(PLANS[0], &[]);
    let hectares = json(&delivery, "run.json")["field"]["area_m2"]
        .as_f64()
        .unwrap()
        / 1e4;
    assert!(hectares > 59.0, "{hectares}");
    // As much more as 65 ha are more, were all of it to grow with the area.
    let bytes = delivery.get("report.html").unwrap().len() as f64;
    assert!(
        bytes * 65.0 / hectares < 2e6,
        "{bytes} bytes for {hectares} ha"
    );
}

#[test]
fn records_and_properties_follow_the_published_schemas() {
    for plan in PLANS {
        let delivery = sample(plan, &[]);
        assert_eq!(
            schemas::faults(
                &schemas::schema("run.schema.json"),
                &json(&delivery, "run.json")
            ),
            Vec::<String>::new(),
            "{plan}"
        );
        let map = json(&delivery, "prescription.geojson");
        assert_eq!(
            schemas::faults(&schemas::schema("prescription.schema.json"), &map),
            Vec::<String>::new(),
            "{plan}"
        );
    }
}

#[test]
fn the_texts_fit_80_columns() {
    for plan in PLANS {
        let delivery = sample(plan, &[]);
        for path in ["report.txt", "details.txt", "mix.txt"] {
            let text = text_of(&delivery, path);
            let long: Vec<&str> = text
                .lines()
                .filter(|line| line.chars().count() > 80 || line.ends_with(' '))
                .collect();
            assert_eq!(long, Vec::<&str>::new(), "{plan}: {path}");
        }
    }
}

#[test]
fn the_report_of_eight_zones_has_at_most_150_lines() {
    for plan in PLANS {
        let delivery = sample(plan, &[]);
        let lines = text_of(&delivery, "report.txt").lines().count();
        assert!(lines <= 150, "{plan}: {lines} lines");
    }
}

/// The words of a page, without its tags, scripts and drawings.
fn words(html: &str) -> String {
    let mut text = String::new();
    let body = html
        .split("<main")
        .nth(1)
        .unwrap()
        .split("<script")
        .next()
        .unwrap();
    for piece in body.split('<').skip(1) {
        let (tag, words) = piece.split_once('>').unwrap_or((piece, ""));
        text.push_str(if tag.starts_with(['/', 'b', 'c']) {
            ""
        } else {
            " "
        });
        text.push_str(words);
    }
    let text = text
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&#39;", "'")
        .replace("&amp;", "&");
    flat(&text)
}

/// One blank between words, however the lines were broken.
fn flat(text: &str) -> String {
    text.split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .to_lowercase()
}

#[test]
fn both_reports_say_the_same_facts_in_the_same_order() {
    for plan in PLANS {
        let delivery = sample(plan, &[]);
        let (text, page) = (
            flat(&text_of(&delivery, "details.txt")),
            words(&text_of(&delivery, "report.html")),
        );
        let record = json(&delivery, "run.json");
        let mut facts: Vec<String> = Vec::new();
        let mut take = |value: &Value| {
            facts.extend(value.as_str().map(|fact| flat(fact.trim_end_matches('.'))));
        };
        for zone in record["review"].as_array().unwrap() {
            take(&zone["reason"]);
            zone["limits"]
                .as_array()
                .unwrap()
                .iter()
                .for_each(|limit| take(&limit["sentence"]));
            zone["fixes"]
                .as_array()
                .unwrap()
                .iter()
                .for_each(|fix| take(&fix["what"]));
        }
        record["remarks"]
            .as_array()
            .unwrap()
            .iter()
            .for_each(|remark| take(&remark["what"]));
        record["prescription"]["cautions"]
            .as_array()
            .unwrap()
            .iter()
            .for_each(&mut take);
        // The open field is one zone and has few.
        assert!(facts.len() > 20, "{plan}: {} facts", facts.len());
        for fact in &facts {
            assert!(
                text.contains(fact),
                "{plan}: details.txt does not say: {fact}"
            );
            assert!(
                page.contains(fact),
                "{plan}: report.html does not say: {fact}"
            );
        }
        let chapters = [
            "each zone and why",
            "what the budget left out",
            "check before you drive",
            "how good the maps are",
            "why these zones",
            "cautions",
            "what research disputes",
            "assumptions and notes on the data",
            "sources",
        ];
        for report in [&text, &page] {
            let places: Vec<usize> = chapters
                .iter()
                .filter_map(|chapter| report.find(&format!("{chapter} ")))
                .collect();
            assert!(
                places.len() >= 7 && places.is_sorted(),
                "{plan}: {places:?}"
            );
        }
    }
}
