//! Leaf feeds as they reach the sprayer: named by their own product, without leftovers of an earlier answer, and refused for the true reason.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use serde_json::Value;
use tempfile::TempDir;

use crate::follow::{files_below, follow, is_done, json, plan_of, season};

/// Young plants of every zone of the sample, well short of zinc, manganese and magnesium.
const SHORT: [f64; 3] = [5.0, 5.0, 0.05];
/// The same with enough of all three.
const ENOUGH: [f64; 3] = [60.0, 60.0, 0.40];

/// Leaves of all eight zones, five samples in each.
fn leaves(folder: &Path, name: &str, [zinc, manganese, magnesium]: [f64; 3]) {
    let mut text = "zone,date,planted,part,Zn ppm,Mn ppm,Mg %\n".to_owned();
    for zone in 1..=8 {
        for sample in 0..5 {
            let times = 1.0 + f64::from(sample) / 50.0;
            writeln!(
                text,
                "{zone},2027-05-24,2027-04-28,whole plant,{:.2},{:.2},{:.4}",
                zinc * times,
                manganese * times,
                magnesium * times
            )
            .unwrap();
        }
    }
    fs::write(folder.join(name), text).unwrap();
}

/// The sample's run with leaves that are short, followed.
fn fed(more: &[&str]) -> TempDir {
    let season = season();
    leaves(season.path(), "short.csv", SHORT);
    let mut arguments = vec!["--results", "short.csv"];
    arguments.extend(more);
    let ran = follow(season.path(), &arguments);
    assert!(is_done(&ran), "{}", ran.stderr);
    season
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn text_of(season: &TempDir) -> String {
    fs::read_to_string(season.path().join("out/follow.txt")).unwrap()
}

/// A chapter of a text, on one line.
fn chapter(text: &str, title: &str) -> String {
    let start = text.find(&format!("\n{title}\n")).unwrap();
    let rest = &text[start + title.len() + 2..];
    // The next chapter's title is the line before the next rule of "=" after this chapter's own.
    let body = rest.split_once('\n').unwrap().1;
    let end = body.find("\n==").unwrap_or(body.len());
    one_line(&body[..end])
}

fn feeds_of(season: &TempDir) -> Vec<Value> {
    let record = json(&season.path().join("out/follow.json"));
    record["foliar"]["feeds"].as_array().unwrap().clone()
}

fn labels(feed: &Value) -> Vec<&str> {
    let products = feed["products"].as_array().unwrap();
    products
        .iter()
        .map(|product| product["label"].as_str().unwrap())
        .collect()
}

/// Files of leaf feeds below a folder.
fn spray_files(folder: &Path) -> Vec<String> {
    files_below(folder)
        .iter()
        .map(|path| path.strip_prefix(folder).unwrap().display().to_string())
        .filter(|path| path.contains("foliar-"))
        .collect()
}

// ------------------------------------------------------------------------------------------------ no leftovers

#[test]
fn a_later_answer_without_feeds_leaves_no_spray_file_behind() {
    let season = fed(&[]);
    let out = season.path().join("out");
    let before = spray_files(&out);
    assert!(before.iter().any(|path| path == "foliar-1.geojson"));
    assert!(before.iter().any(|path| path.starts_with("controller/")));
    leaves(season.path(), "enough.csv", ENOUGH);
    let ran = follow(season.path(), &["--results", "enough.csv"]);
    assert!(is_done(&ran), "{}", ran.stderr);
    assert!(feeds_of(&season).is_empty());
    assert_eq!(spray_files(&out), Vec::<String>::new());
    assert!(!out.join("controller").exists(), "its empty folders go too");
    let hidden = files_below(&out)
        .iter()
        .any(|path| path.display().to_string().contains("lowstave-"));
    assert!(!hidden, "nothing is left beside");
    for own in ["run.json", "prescription.geojson", "follow.txt"] {
        assert!(out.join(own).is_file(), "{own}");
    }
}

#[test]
fn fewer_feeds_take_the_files_of_the_others_away_and_leave_what_is_not_theirs() {
    let season = fed(&[]);
    let out = season.path().join("out");
    let many = feeds_of(&season).len();
    fs::write(out.join("controller/foliar-1/my-note.txt"), "mine").unwrap();
    leaves(season.path(), "zinc.csv", [5.0, 60.0, 0.40]);
    let ran = follow(season.path(), &["--results", "zinc.csv"]);
    assert!(is_done(&ran), "{}", ran.stderr);
    let few = feeds_of(&season).len();
    assert!(few > 0 && few < many, "{few} {many}");
    for number in 1..=many {
        let map = out.join(format!("foliar-{number}.geojson"));
        assert_eq!(map.exists(), number <= few, "{}", map.display());
        let controller = out.join(format!("controller/foliar-{number}/taskdata.zip"));
        assert_eq!(controller.exists(), number <= few, "feed {number}");
    }
    assert!(out.join("controller/foliar-1/my-note.txt").is_file());
    // An edited file of an earlier answer is not thrown away unasked.
    let last = out.join(format!("foliar-{few}-mix.txt"));
    fs::write(&last, "my own words").unwrap();
    leaves(season.path(), "enough.csv", ENOUGH);
    let ran = follow(season.path(), &["--results", "enough.csv"]);
    assert_eq!(ran.code, 2, "{}", ran.stderr);
    assert!(last.is_file() && feeds_of(&season).len() == few);
    let ran = follow(season.path(), &["--results", "enough.csv", "--force"]);
    assert!(is_done(&ran) && !last.exists(), "{}", ran.stderr);
}

#[test]
fn the_season_is_not_written_among_the_files_of_the_plans_controller() {
    let planned = plan_of("open-field/plan.toml");
    let text = "zone,count\n1,30\n1,31\n";
    fs::write(planned.path().join("stand.csv"), text).unwrap();
    for inside in ["out/controller", "out/controller/shapefile/season"] {
        let ran = follow(planned.path(), &["--results", "stand.csv", "--out", inside]);
        assert_eq!(ran.code, 2, "{inside}: {}", ran.stderr);
        assert!(
            one_line(&ran.stderr).contains("lies in the run's own \"controller\""),
            "{}",
            ran.stderr
        );
        assert!(!planned.path().join(inside).join("follow.json").exists());
    }
    let ran = follow(
        planned.path(),
        &["--results", "stand.csv", "--out", "season"],
    );
    assert!(is_done(&ran), "{}", ran.stderr);
}

// ------------------------------------------------------------------------------------------------ each by its name

#[test]
fn each_feed_is_named_with_its_own_products_wherever_it_is_ordered() {
    let season = fed(&[]);
    let feeds = feeds_of(&season);
    let different = feeds.iter().filter(|feed| feed["repeats"].is_null());
    assert!(different.count() >= 2, "the case has several products");
    let text = text_of(&season);
    let first = chapter(&text, "DO FIRST");
    for feed in &feeds {
        let number = &feed["number"];
        let original = feed["repeats"].as_u64().or(number.as_u64()).unwrap();
        let of_it = feeds.iter().filter(|other| {
            other["number"] == original || other["repeats"].as_u64() == Some(original)
        });
        let numbers: Vec<String> = of_it.map(|other| other["number"].to_string()).collect();
        let word = if numbers.len() == 1 { "feed" } else { "feeds" };
        let named = format!(
            "{word} {}: {}",
            numbers.join(" and "),
            labels(feed).join(" with ")
        );
        assert!(
            first.to_lowercase().contains(&named.to_lowercase()),
            "{named}: {first}"
        );
        let map = json(&season.path().join(format!("out/foliar-{number}.geojson")));
        for feature in map["features"].as_array().unwrap() {
            let properties = &feature["properties"];
            let order = properties["do_first"].as_str().unwrap();
            let is_fed = feed["zones"]
                .as_array()
                .unwrap()
                .contains(&properties["zone"]);
            let own = order.starts_with(&format!("Leaf feed {number}: "));
            assert_eq!(own, is_fed, "{order}");
            for label in labels(feed) {
                assert_eq!(order.contains(label), is_fed, "{label}: {order}");
            }
        }
    }
    // No list of numbers stands before one product.
    assert!(!text.contains("feeds 1, 2, 3: "), "{text}");
}

#[test]
fn a_zone_that_other_feeds_reach_is_not_said_to_be_short_of_nothing() {
    let season = season();
    let text = "zone,date,planted,part,Zn ppm,Mn ppm\n";
    let rows: String = (2..=3)
        .flat_map(|zone| (0..5).map(move |sample| (zone, sample)))
        .map(|(zone, sample)| {
            let (zinc, manganese) = if zone == 2 { (5, 60) } else { (60, 5) };
            format!(
                "{zone},2027-05-24,2027-04-28,whole plant,{zinc}.{sample},{manganese}.{sample}\n"
            )
        })
        .collect();
    fs::write(season.path().join("two.csv"), format!("{text}{rows}")).unwrap();
    let ran = follow(season.path(), &["--results", "two.csv"]);
    assert!(is_done(&ran), "{}", ran.stderr);
    let feeds = feeds_of(&season);
    let mut seen = 0;
    for feed in &feeds {
        let number = &feed["number"];
        let map = json(&season.path().join(format!("out/foliar-{number}.geojson")));
        for feature in map["features"].as_array().unwrap() {
            let zone = &feature["properties"]["zone"];
            let order = feature["properties"]["do_first"].as_str().unwrap();
            let own = |feed: &Value| feed["zones"].as_array().unwrap().contains(zone);
            if !own(feed) && feeds.iter().any(own) {
                seen += 1;
                let start = format!("Nothing of leaf feed {number}: this zone gets leaf feed");
                assert!(order.starts_with(&start), "{order}");
            }
        }
    }
    assert!(seen > 0, "zones 2 and 3 have feeds of their own");
}

// ------------------------------------------------------------------------------------------------ the true reason

#[test]
fn too_little_water_salt_and_carbon_are_named_where_they_are_the_reason() {
    let season = fed(&["--water", "9 gal/ac"]);
    assert!(feeds_of(&season).is_empty());
    let text = text_of(&season);
    for part in [chapter(&text, "DO FIRST"), chapter(&text, "LEAF FEEDS")] {
        for wanted in [
            "9 gal/ac of water is less than the 10 gal/ac under which no salt goes on a leaf (zones 2, 3, 4, 5, 6, 8",
            "salt in the soil comes first (zone 1",
            "carbon comes first; a check strip is offered (zone 7",
        ] {
            assert!(part.contains(wanted), "{wanted}: {part}");
        }
        assert!(!part.contains("the leaf does not take"), "{part}");
    }
    // With enough water salt and carbon stay the reasons, in the map of a feed too.
    let season = fed(&[]);
    let map = json(&season.path().join("out/foliar-1.geojson"));
    let order = |zone: u64| {
        let features = map["features"].as_array().unwrap();
        let own = features
            .iter()
            .find(|feature| feature["properties"]["zone"] == zone);
        own.unwrap()["properties"]["do_first"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    assert_eq!(order(1), "No leaf feed: salt in the soil comes first");
    assert!(order(7).starts_with("No leaf feed: carbon comes first"));
}

// ------------------------------------------------------------------------------------------------ what the map says

#[test]
fn the_map_of_a_feed_says_what_it_knows_and_costs_in_the_units_of_the_run() {
    let season = fed(&[]);
    let metric = plan_of("alder-flat/plan-metric.toml");
    leaves(metric.path(), "short.csv", SHORT);
    let ran = follow(metric.path(), &["--results", "short.csv"]);
    assert!(is_done(&ran), "{}", ran.stderr);
    for (folder, cost, other) in [
        (season.path(), "cost_usd_ac", "cost_usd_ha"),
        (metric.path(), "cost_usd_ha", "cost_usd_ac"),
    ] {
        let map = json(&folder.join("out/foliar-1.geojson"));
        for feature in map["features"].as_array().unwrap() {
            let properties = feature["properties"].as_object().unwrap();
            for key in properties.keys() {
                assert!(
                    !key.starts_with("starter")
                        && !key.starts_with("limit_")
                        && key != "confidence"
                        && key != other,
                    "{key}"
                );
            }
            assert!(properties[cost].is_number(), "{properties:?}");
            let reason = properties["reason"].as_str().unwrap();
            assert!(reason.ends_with('.'), "{reason}");
            // Each sentence has its stop: nothing runs on after the strip that is offered.
            if let Some((_, rest)) = reason.split_once("lay a check strip at ") {
                let next = rest.find("short").unwrap_or(rest.len());
                assert!(
                    rest[..next].contains(". ") || rest.ends_with('.'),
                    "{reason}"
                );
            }
        }
    }
    let prescription = json(&season.path().join("out/prescription.geojson"));
    let kept = &prescription["features"][0]["properties"];
    assert!(kept["confidence"].is_number() && kept["starter_gal_ac"].is_number());
}

// ------------------------------------------------------------------------------------------------ the first sheet

#[test]
fn what_is_to_be_done_stands_first_and_each_pass_is_paid_for() {
    let season = fed(&[]);
    let text = text_of(&season);
    let first = chapter(&text, "DO FIRST");
    assert!(first.starts_with("A Leaf feeds 1 and 2: "), "{first}");
    let none = first.find("No leaf feed").unwrap();
    assert!(!first[none..].contains("Leaf feed"), "{first}");
    // 8 USD/ac a pass without its products (rulebook, fix.foliar_trace).
    let passes: f64 = feeds_of(&season)
        .iter()
        .map(|feed| 8.0 * feed["area_m2"].as_f64().unwrap() / 4_046.856_422_4)
        .sum();
    let pay = chapter(&text, "BUY AND PAY").replace(',', "");
    let work: f64 = pay
        .split_once("other work ")
        .and_then(|(_, rest)| rest.split_once(" USD"))
        .map(|(number, _)| number.parse().unwrap())
        .unwrap();
    assert!((work - passes).abs() <= 1.0, "{work} {passes}");
    // One line a feed with its rate; the table names numbers alone.
    let lines = chapter(&text, "PASSES");
    for feed in feeds_of(&season) {
        assert!(
            lines.contains(&format!("Feed {}: ", feed["number"])),
            "{lines}"
        );
    }
    let page = fs::read_to_string(season.path().join("out/follow.html")).unwrap();
    let table = page.split_once("class=\"zones\"").unwrap().1;
    let table = table.split_once("</table>").unwrap().0;
    assert!(
        table.contains("Leaf feeds 1, ") && !table.contains("sulfate"),
        "{table}"
    );
}

#[test]
fn a_caution_is_told_once() {
    let season = fed(&["--tank", "500 gal"]);
    let tank = fs::read_to_string(season.path().join("out/foliar-1-mix.txt")).unwrap();
    for text in [text_of(&season), tank] {
        let times = one_line(&text)
            .matches("On organic ground a trace element needs a documented shortage")
            .count();
        assert_eq!(times, 1, "{text}");
    }
}

// ------------------------------------------------------------------------------------------------ impossible options

#[test]
fn water_tank_and_plants_that_cannot_be_are_refused_with_what_can() {
    let season = season();
    for (option, value, words) in [
        ("--water", "1e9 gal/ac", "up to 500 gal/ac"),
        ("--water", "501 gal/ac", "up to 500 gal/ac"),
        ("--water", "-5 gal/ac", "up to 500 gal/ac"),
        ("--water", "-5", "gal/ac"),
        ("--tank", "1e9 gal", "1 L to 100,000 L"),
        ("--tank", "-500 gal", "1 L to 100,000 L"),
        ("--population", "-5", "such as 32000"),
    ] {
        let ran = follow(season.path(), &["--results", "stand.csv", option, value]);
        let said = one_line(&ran.stderr);
        assert_eq!(ran.code, 2, "{option} {value}: {said}");
        assert!(said.contains(words), "{option} {value}: {said}");
        assert!(
            !said.contains("unexpected argument"),
            "{option} {value}: {said}"
        );
    }
    let ran = follow(
        season.path(),
        &[
            "--results",
            "stand.csv",
            "--water",
            "500 gal/ac",
            "--out",
            "most",
        ],
    );
    assert!(is_done(&ran), "{}", ran.stderr);
}
