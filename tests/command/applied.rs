//! The log of what was applied, and an earlier harvest that says how much neighbouring passes differ; all invented.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use geo::{Contains, Coord, LineString, Polygon, coord};
use serde_json::Value;

use crate::program::{Ran, run_in};
use crate::strips::{json, planned, season};

/// The strips and zones of the prescription with their starter rate, the strips first, because they are holes of the zones.
fn rates(folder: &Path) -> Vec<(Polygon<f64>, f64, Option<String>)> {
    let prescription = json(&folder.join("out/prescription.geojson"));
    let ring = |ring: &Value| -> LineString<f64> {
        let place = |p: &Value| -> Coord<f64> {
            coord! { x: p[0].as_f64().unwrap(), y: p[1].as_f64().unwrap() }
        };
        ring.as_array().unwrap().iter().map(place).collect()
    };
    let mut found = Vec::new();
    for feature in prescription["features"].as_array().unwrap() {
        let properties = &feature["properties"];
        let rate = properties["starter_gal_ac"].as_f64().unwrap();
        let strip = properties["strip"].as_str().map(str::to_owned);
        for polygon in feature["geometry"]["coordinates"].as_array().unwrap() {
            let mut rings = polygon.as_array().unwrap().iter().map(ring);
            let shape = Polygon::new(rings.next().unwrap(), rings.collect());
            found.push((shape, rate, strip.clone()));
        }
    }
    found.sort_by_key(|(_, _, strip)| strip.is_none());
    found
}

/// A log with a record at every record of the harvest. `change` gives the rate that went out from the planned one and the strip's name.
fn log(folder: &Path, change: impl Fn(f64, Option<&str>) -> f64) {
    let rates = rates(folder);
    let harvest = fs::read_to_string(folder.join("harvest.csv")).unwrap();
    let mut text = String::from("lon,lat,Rate (gal/ac)\n");
    for line in harvest.lines().skip(1) {
        let mut cells = line.split(',');
        let (lon, lat) = (cells.next().unwrap(), cells.next().unwrap());
        let at = coord! { x: lon.parse().unwrap(), y: lat.parse().unwrap() };
        if let Some((_, rate, strip)) = rates.iter().find(|(shape, ..)| shape.contains(&at)) {
            writeln!(text, "{lon},{lat},{:.3}", change(*rate, strip.as_deref())).unwrap();
        }
    }
    fs::write(folder.join("log.csv"), text).unwrap();
}

/// A plan that names the harvest and the log, and the verdict with it.
fn judged(folder: &Path, log: &str) -> Ran {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat");
    for name in [
        "boundary.geojson",
        "creek.geojson",
        "cores.csv",
        "cone.csv",
        "rules.toml",
    ] {
        fs::copy(sample.join(name), folder.join(name)).unwrap();
    }
    let mut plan = fs::read_to_string(sample.join("plan.toml")).unwrap();
    for (key, value) in [("harvest.csv", "yield"), ("log.csv", "applied")] {
        write!(
            plan,
            "\n[[results]]\nfile = \"{key}\"\nkind = \"{value}\"\n"
        )
        .unwrap();
    }
    plan.push_str(log);
    fs::write(folder.join("plan.toml"), plan).unwrap();
    run_in(folder, &["verdict", "out", "--plan", "plan.toml"])
}

#[test]
fn a_log_that_agrees_with_the_plan_says_so_and_leaves_nothing_out() {
    let season = season();
    log(season.path(), |rate, _| rate);
    let ran = judged(season.path(), "product = \"starter\"\n");
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    assert!(
        ran.stderr
            .contains("the log of starter agrees with the plan"),
        "{}",
        ran.stderr
    );
    let verdict = json(&season.path().join("out/verdict.json"));
    let off = |verdict: &Value| {
        let left_out = verdict["cleaning"]["left_out"].as_array().unwrap().clone();
        let of = left_out.into_iter().find(|fate| fate[0] == "off_plan");
        of.unwrap()[1].as_u64().unwrap()
    };
    assert_eq!(off(&verdict), 0);
    // A unit that nobody says is taken from the plan, and that is said.
    let path = season.path().join("log.csv");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replacen("Rate (gal/ac)", "Rate", 1)).unwrap();
    let ran = judged(season.path(), "product = \"starter\"\n");
    assert!(
        ran.stderr
            .contains("the unit of the applied rate is not said; gal/ac is taken"),
        "{}",
        ran.stderr
    );
    // A log that is 10 % off is no other rate.
    log(season.path(), |rate, _| 1.1 * rate);
    judged(season.path(), "product = \"starter\"\n");
    assert_eq!(off(&json(&season.path().join("out/verdict.json"))), 0);
}

#[test]
fn a_strip_that_had_the_product_is_not_counted() {
    let season = season();
    let plain = |folder: &Path| -> Vec<String> {
        let verdict = json(&folder.join("out/verdict.json"));
        let zones = verdict["sets"][0]["zones"].as_array().unwrap().clone();
        let six = zones.into_iter().find(|zone| zone["zone"] == 6).unwrap();
        let strips = six["by_strip"].as_array().unwrap().clone();
        let name = |strip: Value| strip[0].as_str().unwrap().to_owned();
        strips.into_iter().map(name).collect()
    };
    log(season.path(), |rate, _| rate);
    judged(season.path(), "product = \"starter\"\n");
    let before = plain(season.path());
    assert!(before.len() >= 2, "{before:?}");
    // The pump was not shut off on one strip.
    let open = before[0].clone();
    log(season.path(), |rate, strip| {
        if strip == Some(open.as_str()) {
            3.0
        } else {
            rate
        }
    });
    let ran = judged(season.path(), "product = \"starter\"\n");
    assert_eq!(ran.code, 1);
    let words = ran.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains(&format!("Not laid as planned: {open}")),
        "{words}"
    );
    let after = plain(season.path());
    assert_eq!(after, before[1..], "the strip is out, the others stand");
}

/// A log without a record on the strips says nothing of them, however much it says of the rest.
#[test]
fn a_log_that_is_blank_on_the_strips_does_not_agree() {
    let season = season();
    log(
        season.path(),
        |rate, strip| {
            if strip.is_some() { f64::NAN } else { rate }
        },
    );
    let path = season.path().join("log.csv");
    let text = fs::read_to_string(&path).unwrap();
    let kept: Vec<&str> = text.lines().filter(|line| !line.ends_with("NaN")).collect();
    assert!(kept.len() < text.lines().count());
    fs::write(&path, kept.join("\n")).unwrap();
    let ran = judged(season.path(), "product = \"starter\"\n");
    assert_eq!(ran.code, 1);
    let words = ran.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains(
            "says nothing of these strips or of a side of them: no starter 1, no starter 2"
        ) && !words.contains("agrees with the plan"),
        "{words}"
    );
}

#[test]
fn a_log_that_cannot_be_used_is_refused_in_words() {
    let season = season();
    log(season.path(), |rate, _| rate);
    let says = |log: &str, words: &str| {
        let ran = judged(season.path(), log);
        let said = ran.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(ran.code, 2, "{said}");
        assert!(said.contains(words), "{said}");
    };
    says("", "product = \"starter\"");
    says(
        "product = \"seed\"\n",
        "\"seed\" is no product of this prescription",
    );
    says(
        "product = \"starter\"\n[results.columns]\n\"Rate (gal/ac)\" = { is = \"applied_rate\", unit = \"lb/ac\" }\n",
        "gal/ac",
    );
    fs::write(
        season.path().join("log.csv"),
        "lon,lat,speed\n-96.0,42.0,5\n",
    )
    .unwrap();
    says(
        "product = \"starter\"\n",
        "no column of results was recognised",
    );
}

#[test]
fn an_earlier_harvest_says_what_strips_can_show() {
    let season = season();
    let strips = |more: &str| {
        format!(
            "products = [\"starter\"]\nworth = \"4 bu/ac\"\nheader = \"30 ft\"\nlength = \"300 ft\"\n{more}"
        )
    };
    let (folder, _) = planned(&strips("earlier_harvest = \"harvest.csv\""));
    // The plan names a file that is not there.
    assert!(!folder.path().join("out").exists());
    fs::copy(
        season.path().join("harvest.csv"),
        folder.path().join("harvest.csv"),
    )
    .unwrap();
    let ran = run_in(folder.path(), &["plan", "plan.toml", "--out", "out"]);
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let run = json(&folder.path().join("out/run.json"));
    let set = &run["strips"]["sets"][0];
    assert_eq!(set["scatter"], "harvest");
    let shows = |set: &Value| -> Vec<f64> {
        let zones = set["zones"].as_array().unwrap().clone();
        zones
            .iter()
            .filter_map(|zone| zone["shows"].as_f64())
            .collect()
    };
    // The invented harvest scatters far less than the rulebook's guess of 400 kg/ha, and zones differ.
    let measured = shows(set);
    assert!(
        !measured.is_empty() && measured.iter().all(|shows| *shows < 700.0),
        "{measured:?}"
    );
    let inputs = run["inputs"].as_array().unwrap();
    assert!(inputs.iter().any(|input| input["path"] == "harvest.csv"));
    let report = fs::read_to_string(folder.path().join("out/report.txt")).unwrap();
    assert!(!report.contains("scatter of yields here is guessed"));
    let (guessed, _) = planned(&strips(""));
    let run = json(&guessed.path().join("out/run.json"));
    assert_eq!(run["strips"]["sets"][0]["scatter"], "guess");
    // Both at once: which one holds?
    let (_, ran) = planned(&strips(
        "earlier_harvest = \"harvest.csv\"\nspread = \"6 bu/ac\"",
    ));
    assert_eq!(ran.code, 2);
    assert!(
        ran.stderr.contains("take one of them out"),
        "{}",
        ran.stderr
    );
}
