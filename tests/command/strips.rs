//! Check strips from the plan to the verdict, on the invented field with a harvest of known truth.

use std::fs;
use std::path::Path;
use std::sync::LazyLock;

use serde_json::Value;
use tempfile::TempDir;

use crate::program::{Folder, Ran, run_in};

#[path = "../../samples/alder-flat/harvest.rs"]
mod harvest;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

pub fn json(path: &Path) -> Value {
    serde_json::from_slice(&fs::read(path).unwrap()).unwrap()
}

/// The sample's prescription with its strips, and the invented harvest of them; made once.
static SEASON: LazyLock<TempDir> = LazyLock::new(|| {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let ran = run_in(
        root(),
        &[
            "plan",
            "samples/alder-flat/plan.toml",
            "--out",
            out.to_str().unwrap(),
            "--quiet",
        ],
    );
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    fs::write(
        folder.path().join("harvest.csv"),
        harvest::harvest("plan.toml").unwrap(),
    )
    .unwrap();
    folder
});

/// A copy of the season's run that a test may write into.
pub fn season() -> TempDir {
    let copy = tempfile::tempdir().unwrap();
    let out = copy.path().join("out");
    fs::create_dir(&out).unwrap();
    for name in ["run.json", "strips.geojson", "prescription.geojson"] {
        fs::copy(SEASON.path().join("out").join(name), out.join(name)).unwrap();
    }
    fs::copy(
        SEASON.path().join("harvest.csv"),
        copy.path().join("harvest.csv"),
    )
    .unwrap();
    copy
}

fn verdict(folder: &Path, harvest: &str) -> Ran {
    run_in(folder, &["verdict", "out", "--results", harvest, "--quiet"])
}

fn shoelace(ring: &Value) -> f64 {
    let ring: Vec<(f64, f64)> = ring
        .as_array()
        .unwrap()
        .iter()
        .map(|p| (p[0].as_f64().unwrap(), p[1].as_f64().unwrap()))
        .collect();
    ring.windows(2)
        .map(|w| w[0].0 * w[1].1 - w[1].0 * w[0].1)
        .sum::<f64>()
        / 2.0
}

#[test]
fn strips_are_holes_of_their_zones_corner_for_corner() {
    let prescription = json(&SEASON.path().join("out/prescription.geojson"));
    let features = prescription["features"].as_array().unwrap();
    let strips: Vec<&Value> = features
        .iter()
        .filter(|f| f["properties"]["strip"].is_string())
        .collect();
    assert!(strips.len() >= 5, "{}", strips.len());
    for strip in &strips {
        let zone = &strip["properties"]["zone"];
        let home = features
            .iter()
            .find(|f| f["properties"]["strip"].is_null() && f["properties"]["zone"] == *zone)
            .unwrap();
        let ring = &strip["geometry"]["coordinates"][0][0];
        assert!(shoelace(ring) > 0.0, "outer rings run counter-clockwise");
        let mut corners: Vec<String> = ring.as_array().unwrap()[1..]
            .iter()
            .map(Value::to_string)
            .collect();
        corners.sort();
        let holes = home["geometry"]["coordinates"]
            .as_array()
            .unwrap()
            .iter()
            .flat_map(|p| &p.as_array().unwrap()[1..]);
        let is_hole = |hole: &&Value| {
            let mut own: Vec<String> = hole.as_array().unwrap()[1..]
                .iter()
                .map(Value::to_string)
                .collect();
            own.sort();
            own == corners
        };
        let hole = holes
            .into_iter()
            .find(is_hole)
            .expect("the strip is a hole of its zone");
        assert!(shoelace(hole) < 0.0, "holes run clockwise");
    }
}

#[test]
fn a_strip_differs_in_its_product_alone_and_the_totals_count_it() {
    let out = SEASON.path().join("out");
    let prescription = json(&out.join("prescription.geojson"));
    let features = prescription["features"].as_array().unwrap();
    let mut starter = 0.0;
    for feature in features {
        let properties = &feature["properties"];
        starter += properties["starter_gal_ac"].as_f64().unwrap()
            * properties["area_ac"].as_f64().unwrap();
        let Some(name) = properties["strip"].as_str() else {
            continue;
        };
        let home = features
            .iter()
            .find(|f| {
                f["properties"]["strip"].is_null() && f["properties"]["zone"] == properties["zone"]
            })
            .unwrap();
        let home = &home["properties"];
        assert_ne!(properties["starter_gal_ac"], home["starter_gal_ac"]);
        if name.starts_with("no starter") {
            assert_eq!(properties["starter_gal_ac"], 0);
        }
        for (key, value) in properties.as_object().unwrap() {
            if key.ends_with("_lb_ac") || (key.ends_with("_gal_ac") && key != "starter_gal_ac") {
                assert_eq!(value, &home[key], "{name}: {key}");
            }
        }
        assert!(
            properties["reason"]
                .as_str()
                .unwrap()
                .starts_with("Check strip")
        );
    }
    let mix = fs::read_to_string(out.join("mix.csv")).unwrap();
    let loads: f64 = mix
        .lines()
        .filter(|line| line.starts_with("load,") && line.contains(",gal,"))
        .map(|line| line.rsplit(',').nth(4).unwrap().parse::<f64>().unwrap())
        .sum();
    // Liquids alone: what is weighed displaces less than a fiftieth of the tank.
    assert!(
        (loads - starter).abs() < 0.05 * starter,
        "{loads} in the tank, {starter} on the map"
    );
    let zones: f64 = mix
        .lines()
        .filter(|line| line.starts_with("zone,") && line.contains("starter"))
        .map(|line| line.split(',').nth(4).unwrap().parse::<f64>().unwrap())
        .sum();
    assert!((zones - starter).abs() < 0.1, "{zones} {starter}");
}

#[test]
fn no_zone_gives_up_more_than_a_twentieth_and_all_is_in_the_record() {
    let run = json(&SEASON.path().join("out/run.json"));
    let sets = run["strips"]["sets"].as_array().unwrap();
    assert_eq!(sets.len(), 2);
    for set in sets {
        assert!(
            set["draw"]["blocks"]["seed"].is_u64() && set["draw"]["blocks"]["blocks"].is_array()
        );
        for zone in set["zones"].as_array().unwrap() {
            let strips = set["strips"]
                .as_array()
                .unwrap()
                .iter()
                .filter(|strip| strip["zone"] == zone["zone"]);
            let area: f64 = strips.map(|strip| strip["area_m2"].as_f64().unwrap()).sum();
            assert!(area <= 0.05 * zone["area_m2"].as_f64().unwrap(), "{zone}");
            if zone["checks"].as_u64().unwrap() < 2 {
                assert!(zone["not_judged"].is_string());
            }
        }
    }
    // 3 pairs show 2.2973 standard deviations (R, power.t.test, paired); the guess of the rulebook is 400 kg/ha.
    let zone = &sets[0]["zones"]
        .as_array()
        .unwrap()
        .iter()
        .find(|zone| zone["checks"] == 3)
        .unwrap();
    assert!(
        (zone["shows"].as_f64().unwrap() - 2.2973 * 400.0).abs() < 0.5,
        "{zone}"
    );
}

#[test]
fn the_first_sheet_and_the_map_show_the_strips() {
    let out = SEASON.path().join("out");
    let report = fs::read_to_string(out.join("report.txt")).unwrap();
    let words = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("CHECK STRIPS") && words.contains("pays from"),
        "{report}"
    );
    let page = fs::read_to_string(out.join("report.html")).unwrap();
    let strips = json(&out.join("strips.geojson"));
    let count = strips["features"].as_array().unwrap().len();
    assert_eq!(page.matches("<polygon class=\"strip\"").count(), count);
}

#[test]
fn a_harvest_with_a_known_truth_is_judged_as_it_is() {
    let season = season();
    let ran = verdict(season.path(), "harvest.csv");
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let out = season.path().join("out");
    for name in [
        "verdict.txt",
        "verdict.html",
        "verdict.json",
        "verdict.gpkg",
    ] {
        assert!(out.join(name).is_file(), "{name}");
    }
    let verdict = json(&out.join("verdict.json"));
    let schema = json(&root().join("docs/schema/verdict.schema.json"));
    let schema = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = schema
        .iter_errors(&verdict)
        .map(|fault| fault.to_string())
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    let zone = |set: usize, number: u64| {
        let zones = verdict["sets"][set]["zones"].as_array().unwrap();
        zones
            .iter()
            .find(|zone| zone["zone"] == number)
            .unwrap()
            .clone()
    };
    // The truth of samples/alder-flat/harvest.rs: 9 bu/ac lost without starter, nothing gained where carbon is short.
    let pays = zone(0, 6);
    assert_eq!(pays["finding"], "pays");
    let interval = &pays["interval_90"];
    assert!(
        interval[0].as_f64().unwrap() < 9.0 && interval[1].as_f64().unwrap() > 9.0,
        "{interval}"
    );
    let tried = zone(1, 7);
    // Three strips in a zone whose own passes are too few decide nothing, and say that chance was measured elsewhere.
    assert_eq!(tried["finding"], "not decided");
    assert_eq!(tried["is_borrowed"], true);
    assert!(
        tried["interval_90"][0].as_f64().unwrap() < 0.0
            && tried["interval_90"][1].as_f64().unwrap() > 0.0
    );
    let none = zone(0, 4);
    assert_eq!(none["finding"], "not judged");
    assert!(none["gain"].is_null());
    let text = fs::read_to_string(out.join("verdict.txt")).unwrap();
    assert!(text.lines().all(|line| line.chars().count() <= 80));
}

/// What the command prints for machines, of one harvest and of several pooled, by its schema.
#[test]
fn a_verdict_prints_what_its_schema_says() {
    let season = season();
    let schema = json(&root().join("docs/schema/verdict-command.schema.json"));
    let schema = jsonschema::validator_for(&schema).unwrap();
    let holds = |value: &Value| {
        let faults: Vec<String> = schema
            .iter_errors(value)
            .map(|fault| fault.to_string())
            .collect();
        assert!(faults.is_empty(), "{}", faults.join("\n"));
    };
    let one = [
        "verdict",
        "out",
        "--results",
        "harvest.csv",
        "--quiet",
        "--json",
    ];
    let printed = run_in(season.path(), &one).json();
    holds(&printed);
    for key in ["outcome", "exit_code", "files", "verdict"] {
        let mut without = printed.clone();
        without.as_object_mut().unwrap().remove(key);
        assert!(!schema.is_valid(&without), "without {key}");
    }
    fs::create_dir(season.path().join("other")).unwrap();
    for file in fs::read_dir(season.path().join("out"))
        .unwrap()
        .map(|file| file.unwrap().path())
    {
        if file.is_file() {
            fs::copy(
                &file,
                season.path().join("other").join(file.file_name().unwrap()),
            )
            .unwrap();
        }
    }
    // One harvest twice is refused in words; the failure has its own schema.
    let twice = run_in(
        season.path(),
        &["verdict", "out", "other", "--quiet", "--json"],
    );
    let failure = json(&root().join("docs/schema/failure.schema.json"));
    assert_eq!(twice.code, 2, "{}", twice.stdout);
    assert!(
        jsonschema::is_valid(&failure, &twice.json()),
        "{}",
        twice.stdout
    );
}

#[test]
fn a_verdict_is_the_same_on_any_number_of_threads() {
    let texts: Vec<Vec<u8>> = ["1", "3"]
        .into_iter()
        .map(|threads| {
            let season = season();
            run_in(
                season.path(),
                &[
                    "verdict",
                    "out",
                    "--results",
                    "harvest.csv",
                    "--quiet",
                    "--threads",
                    threads,
                ],
            );
            [
                "verdict.json",
                "verdict.html",
                "verdict.txt",
                "verdict.gpkg",
            ]
            .iter()
            .flat_map(|name| fs::read(season.path().join("out").join(name)).unwrap())
            .collect()
        })
        .collect();
    assert!(!texts[0].is_empty() && texts[0] == texts[1]);
}

/// A plan of the sample with another `[strips]` table, and what it wrote.
pub fn planned(strips: &str) -> (TempDir, Ran) {
    let folder = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(root().join("samples/alder-flat")).unwrap() {
        let path = entry.unwrap().path();
        fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
    }
    let text = fs::read_to_string(folder.path().join("plan.toml")).unwrap();
    let (before, rest) = text.split_once("[strips]").unwrap();
    let after = &rest[rest.find("[budget]").unwrap()..];
    fs::write(
        folder.path().join("plan.toml"),
        format!("{before}[strips]\n{strips}\n\n{after}"),
    )
    .unwrap();
    let ran = run_in(folder.path(), &["plan", "plan.toml", "--out", "out"]);
    (folder, ran)
}

#[test]
fn a_strip_gets_no_rate_that_its_zone_could_not_get() {
    let tried = |rate: &str, zone: u32| {
        planned(&format!(
            "products = [{{ name = \"x\", rates = {{ starter = \"{rate}\" }}, zones = [{zone}] }}]\nheader = \"30 ft\""
        ))
    };
    let rate = |folder: &TempDir| {
        let prescription = json(&folder.path().join("out/prescription.geojson"));
        let features = prescription["features"].as_array().unwrap().clone();
        let strip = features
            .into_iter()
            .find(|f| f["properties"]["strip"].is_string());
        strip.map(|f| f["properties"]["starter_gal_ac"].as_f64().unwrap())
    };
    // 400 gal/ac in a zone that gets some: the recipe's most, and it is said.
    let (folder, ran) = tried("400 gal/ac", 6);
    assert!(
        rate(&folder).unwrap() <= 6.0 && ran.stderr.contains("is cut to"),
        "{}",
        ran.stderr
    );
    // Finer than the controller's step of 0.1 gal/ac.
    let (folder, ran) = tried("2.03333 gal/ac", 6);
    assert!(
        (rate(&folder).unwrap() - 2.0).abs() < 1e-9 && ran.stderr.contains("the step below it")
    );
    // Less than the pump meters, and on ground with salt: no strip, with the reason.
    for (asked, zone) in [("0.1 gal/ac", 6), ("3 gal/ac", 1)] {
        let (folder, ran) = tried(asked, zone);
        assert_eq!(rate(&folder), None, "{asked} in zone {zone}");
        assert!(
            ran.stderr.contains("no strip \"x\" is laid in zone"),
            "{}",
            ran.stderr
        );
    }
    let (_, ran) = tried("3 gal/ac", 99);
    assert_eq!(ran.code, 2);
    assert!(ran.stderr.contains("there is no zone 99"), "{}", ran.stderr);
}

#[test]
fn a_product_that_goes_out_on_strips_alone_is_in_every_file_with_its_cautions() {
    let folder = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(root().join("samples/open-field")).unwrap() {
        let path = entry.unwrap().path();
        fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
    }
    let plan = folder.path().join("plan.toml");
    let text = fs::read_to_string(&plan).unwrap();
    let strips = "\n[strips]\nproducts = [{ name = \"tried\", rates = { starter = \"25 L/ha\" } }]\nheader = \"6 m\"\nlength = \"60 m\"\n";
    fs::write(&plan, text + strips).unwrap();
    let ran = run_in(
        folder.path(),
        &["plan", "plan.toml", "--out", "out", "--quiet"],
    );
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let out = folder.path().join("out");
    let prescription = json(&out.join("prescription.geojson"));
    let rates: Vec<f64> = prescription["features"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| f["properties"]["starter_l_ha"].as_f64().unwrap())
        .collect();
    assert!(
        rates[0] == 0.0 && rates.len() > 2 && rates[1..].iter().all(|rate| *rate > 20.0),
        "{rates:?}"
    );
    assert!(out.join("controller/shapefile/starter_l_ha.shp").is_file());
    let mut zip =
        zip::ZipArchive::new(fs::File::open(out.join("controller/taskdata.zip")).unwrap()).unwrap();
    let mut xml = String::new();
    std::io::Read::read_to_string(&mut zip.by_name("TASKDATA/TASKDATA.XML").unwrap(), &mut xml)
        .unwrap();
    assert!(xml.contains("<PDT ") && xml.contains("tried 1"));
    let report = fs::read_to_string(out.join("report.txt")).unwrap();
    assert!(report.contains("Salt beside the seed burns it"), "{report}");
    assert!(!report.contains("Not recommended anywhere: low-salt starter"));
    assert!(
        fs::read_to_string(out.join("mix.csv"))
            .unwrap()
            .contains("load,1")
    );
}

#[test]
fn strips_that_were_moved_in_the_record_are_refused() {
    let season = season();
    let path = season.path().join("out/run.json");
    let mut run = json(&path);
    let position = run["strips"]["sets"][0]["draw"]["checks"][0]["position"]
        .as_u64()
        .unwrap();
    for moved in [position + 1, 9_999] {
        run["strips"]["sets"][0]["draw"]["checks"][0]["position"] = moved.into();
        fs::write(&path, run.to_string()).unwrap();
        let ran = verdict(season.path(), "harvest.csv");
        assert_eq!(ran.code, 2, "{}", ran.stderr);
        assert!(ran.stderr.contains("it was edited"), "{}", ran.stderr);
    }
}

#[test]
fn a_verdict_is_not_thrown_away_without_a_word() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let plan = |more: &[&str]| {
        let mut arguments = vec![
            "plan",
            "samples/open-field/plan.toml",
            "--out",
            out.to_str().unwrap(),
            "--quiet",
        ];
        arguments.extend(more);
        run_in(root(), &arguments)
    };
    assert!(matches!(plan(&[]).code, 0 | 1));
    fs::write(out.join("verdict.txt"), "last year").unwrap();
    let ran = plan(&[]);
    assert!(
        ran.code == 2 && ran.stderr.contains("verdict.txt") && ran.stderr.contains("--force"),
        "{}",
        ran.stderr
    );
    assert!(matches!(plan(&["--force"]).code, 0 | 1));
}

#[test]
fn records_named_twice_count_once_and_a_unit_against_its_column_stops() {
    let season = season();
    let once = verdict(season.path(), "harvest.csv");
    let twice = run_in(
        season.path(),
        &["verdict", "out", "--results", "harvest.csv", "harvest.csv"],
    );
    assert!(
        twice.code == 1 && twice.stderr.contains("stand twice"),
        "{}",
        twice.stderr
    );
    assert_eq!(once.stdout, twice.stdout);
    fs::write(
        season.path().join("boundary.geojson"),
        r#"{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}"#,
    )
    .unwrap();
    let plan = "field = \"x\"\nseason = 2027\ncrop = \"corn\"\nboundary = { file = \"boundary.geojson\" }\n[[results]]\nfile = \"harvest.csv\"\nkind = \"yield\"\n[results.columns]\n\"Flow (lb/s)\" = { is = \"flow\", unit = \"kg/s\" }\n";
    fs::write(season.path().join("plan.toml"), plan).unwrap();
    let ran = run_in(season.path(), &["verdict", "out", "--plan", "plan.toml"]);
    assert_eq!(ran.code, 2, "{}", ran.stderr);
    assert!(
        ran.stderr.contains("lb/s") && ran.stderr.contains("kg/s"),
        "{}",
        ran.stderr
    );
}

/// Rows of the harvest that a closure keeps or changes; the head stays.
fn changed(season: &TempDir, name: &str, change: impl Fn(usize, &str) -> Option<String>) {
    let text = fs::read_to_string(season.path().join("harvest.csv")).unwrap();
    let mut lines = text.lines();
    let mut out = format!("{}\n", lines.next().unwrap());
    for (at, line) in lines.enumerate() {
        if let Some(line) = change(at, line) {
            out.push_str(&line);
            out.push('\n');
        }
    }
    fs::write(season.path().join(name), out).unwrap();
}

#[test]
fn another_fields_harvest_and_one_cut_too_wide_are_refused_with_words() {
    let season = season();
    changed(&season, "far.csv", |_, line| {
        let (lon, rest) = line.split_once(',').unwrap();
        let lon: f64 = lon.parse().unwrap();
        Some(format!("{:.7},{rest}", lon + 1.0))
    });
    let ran = verdict(season.path(), "far.csv");
    assert_eq!(ran.code, 2);
    assert!(ran.stderr.contains("another field"), "{}", ran.stderr);
    changed(&season, "wide.csv", |_, line| {
        Some(format!("{},60.0", line.rsplit_once(',').unwrap().0))
    });
    let ran = verdict(season.path(), "wide.csv");
    assert_eq!(ran.code, 2);
    assert!(
        ran.stderr.contains("60 ft wide") && ran.stderr.contains("40 ft wide"),
        "{}",
        ran.stderr
    );
    assert!(!season.path().join("out/verdict.txt").exists());
}

#[test]
fn one_pass_alone_judges_nothing_and_says_so() {
    let season = season();
    changed(&season, "one.csv", |at, line| {
        (9_000..9_130).contains(&at).then(|| line.to_owned())
    });
    let ran = verdict(season.path(), "one.csv");
    match ran.code {
        2 => assert!(
            ran.stderr.contains("no clean record lies on a check strip"),
            "{}",
            ran.stderr
        ),
        _ => {
            let verdict = json(&season.path().join("out/verdict.json"));
            let zones = verdict["sets"][0]["zones"].as_array().unwrap().clone();
            assert!(zones.iter().all(|zone| zone["finding"] == "not judged"));
        }
    }
}

#[test]
fn a_harvest_without_moisture_is_told_and_one_without_yield_refused() {
    let season = season();
    let text = fs::read_to_string(season.path().join("harvest.csv")).unwrap();
    let drop = |column: usize| -> String {
        let keep = |line: &str| {
            let cells: Vec<&str> = line
                .split(',')
                .enumerate()
                .filter(|(at, _)| *at != column)
                .map(|(_, cell)| cell)
                .collect();
            cells.join(",")
        };
        text.lines().map(|line| keep(line) + "\n").collect()
    };
    fs::write(season.path().join("dry.csv"), drop(4)).unwrap();
    let ran = run_in(season.path(), &["verdict", "out", "--results", "dry.csv"]);
    assert_eq!(ran.code, 1, "{}", ran.stderr);
    assert!(
        ran.stderr.contains("no column of grain moisture"),
        "{}",
        ran.stderr
    );
    fs::write(season.path().join("none.csv"), drop(3)).unwrap();
    let ran = verdict(season.path(), "none.csv");
    assert_eq!(ran.code, 2);
    assert!(
        ran.stderr.contains("no column is a yield"),
        "{}",
        ran.stderr
    );
}

#[test]
fn an_edited_run_is_told_and_a_run_without_strips_refused() {
    let edited = season();
    let path = edited.path().join("out/strips.geojson");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text + " ").unwrap();
    let ran = run_in(
        edited.path(),
        &["verdict", "out", "--results", "harvest.csv"],
    );
    assert_eq!(ran.code, 1);
    assert!(
        ran.stderr.contains("\"strips.geojson\" was changed"),
        "{}",
        ran.stderr
    );
    let plain = Folder::with(&[]);
    let out = plain.path().join("out");
    let ran = run_in(
        root(),
        &[
            "plan",
            "samples/open-field/plan.toml",
            "--out",
            out.to_str().unwrap(),
            "--quiet",
        ],
    );
    assert!(matches!(ran.code, 0 | 1));
    let ran = plain.run(&["verdict", "out", "--results", "harvest.csv"]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.stderr.contains("without check strips"),
        "{}",
        ran.stderr
    );
}

#[test]
fn columns_named_in_the_plan_are_taken_as_they_are_said() {
    let season = season();
    let text = fs::read_to_string(season.path().join("harvest.csv")).unwrap();
    let renamed = text.replacen(
        "lon,lat,time_s,Flow (lb/s),Moisture %,Distance (ft),Width (ft)",
        "lon,lat,t,a,b,c,d",
        1,
    );
    fs::write(season.path().join("bare.csv"), renamed).unwrap();
    let ran = verdict(season.path(), "bare.csv");
    assert_eq!(ran.code, 2, "{}", ran.stderr);
    fs::write(
        season.path().join("boundary.geojson"),
        r#"{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}"#,
    )
    .unwrap();
    let plan = r#"
field = "Alder Flat"
season = 2027
crop = "corn"
boundary = { file = "boundary.geojson" }
[[results]]
file = "bare.csv"
kind = "yield"
  [results.columns]
  "t" = { is = "time" }
  "a" = { is = "flow", unit = "lb/s" }
  "b" = { is = "moisture", unit = "%" }
  "c" = { is = "distance", unit = "ft" }
  "d" = { is = "width", unit = "ft" }
"#;
    fs::write(season.path().join("plan.toml"), plan).unwrap();
    let ran = run_in(
        season.path(),
        &["verdict", "out", "--plan", "plan.toml", "--quiet"],
    );
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let verdict = json(&season.path().join("out/verdict.json"));
    assert_eq!(
        verdict["sets"][0]["zones"]
            .as_array()
            .unwrap()
            .iter()
            .find(|zone| zone["zone"] == 6)
            .unwrap()["finding"],
        "pays"
    );
}

/// A pass that the field does not have is a slip of counting: it is told, with how many there are.
#[test]
fn a_pass_past_the_last_is_told() {
    let (_season, ran) = planned("products = [\"starter\"]\navoid_passes = [2, 900]");
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    assert!(
        ran.stderr
            .contains("avoid_passes names 900, but the field has"),
        "{}",
        ran.stderr
    );
}
