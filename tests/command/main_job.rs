//! The main job on a small field: files, summary, remarks, and the same bytes every time.

use std::fs;
use std::path::Path;

use crate::farm::Farm;
use crate::program::Folder;

/// Files that design promises of every run.
const PROMISED: [&str; 3] = ["prescription.geojson", "report.txt", "run.json"];

#[test]
fn the_result_goes_to_files_the_summary_to_stdout_and_talk_to_stderr() {
    let folder = Farm::good().write();
    let ran = folder.run(&["plan", "plan.toml", "--out", "out"]);
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    for file in PROMISED {
        assert!(folder.path().join("out").join(file).is_file(), "{file}");
    }
    assert!(
        ran.stdout.contains("Bluestem Forty: corn 2027") && ran.stdout.contains("out/report.txt"),
        "{}",
        ran.stdout
    );
    assert!(
        !ran.stdout.contains("note: ") && !ran.stdout.contains("look: "),
        "remarks are talk: {}",
        ran.stdout
    );
}

#[test]
fn the_exit_code_says_whether_somebody_should_look() {
    let folder = Farm::good().write();
    let ran = folder.run(&["plan", "plan.toml", "--out", "out", "--json"]);
    let record = ran.json();
    let looks = record["remarks"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|remark| remark["level"] == "look")
        .count();
    assert_eq!(ran.code, i32::from(looks > 0));
    assert_eq!(record["exit_code"], ran.code);
    assert_eq!(record["looks"].as_u64().unwrap() as usize, looks);
    assert_eq!(
        record["zones"].as_array().unwrap().len(),
        2,
        "the plan asks for two zones"
    );
}

#[test]
fn a_metric_plan_prints_metric_areas_rates_and_costs() {
    let folder = Farm::good()
        .plan_with("units = \"us\"", "units = \"metric\"")
        .write();
    let ran = folder.run(&["plan", "plan.toml", "--out", "out", "--quiet"]);
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    // The units stand in the line below the names of the columns.
    let units = ran
        .stdout
        .lines()
        .skip_while(|line| !line.starts_with("zone "))
        .nth(1)
        .unwrap_or_else(|| panic!("a heading: {}", ran.stdout));
    assert!(
        units.contains(" ha ") && units.ends_with("USD/ha") && !units.contains("/ac"),
        "{units}"
    );
    let record = folder
        .run(&["plan", "plan.toml", "--out", "out", "--quiet", "--json"])
        .json();
    let row = ran
        .stdout
        .lines()
        .find(|line| line.trim_start().starts_with("1 "))
        .unwrap();
    let printed: f64 = row.split_whitespace().last().unwrap().parse().unwrap();
    // Products and the work that is no product.
    let cost = |key: &str| record["zones"][0][key].as_f64().unwrap();
    let per_acre = cost("cost_usd_ac") + cost("work_usd_ac");
    // One acre is 0.40468564224 ha; the record has two decimals.
    assert!(
        (printed - per_acre / 0.404_685_642_24).abs() < 0.02,
        "{printed} USD/ha, {per_acre} USD/ac"
    );
}

#[test]
fn quiet_keeps_stderr_empty_and_the_summary_whole() {
    let folder = Farm::good().write();
    let loud = folder.run(&["plan", "plan.toml", "--out", "out"]);
    let quiet = folder.run(&["plan", "plan.toml", "--out", "out", "--quiet"]);
    assert_eq!((quiet.code, quiet.stderr.as_str()), (loud.code, ""));
    assert_eq!(
        quiet.stdout, loud.stdout,
        "an earlier result is replaced, and the same input says the same"
    );
}

#[test]
fn the_same_input_gives_the_same_bytes_on_any_number_of_threads() {
    let folder = Farm::good().write();
    for threads in ["1", "2", "8"] {
        let ran = folder.run(&[
            "plan",
            "plan.toml",
            "--out",
            &format!("out{threads}"),
            "--threads",
            threads,
        ]);
        assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    }
    let one = tree(&folder, "out1");
    assert!(one.len() >= PROMISED.len());
    for other in ["out2", "out8"] {
        assert!(one == tree(&folder, other), "out1 and {other} differ");
    }
}

/// Every file below a folder, the timings of `run.json` left out.
fn tree(folder: &Folder, out: &str) -> Vec<(String, Vec<u8>)> {
    let is_below =
        |path: &&std::path::PathBuf| path.starts_with(out) && folder.path().join(path).is_file();
    let read = |path: &std::path::PathBuf| {
        let name = path.strip_prefix(out).unwrap().display().to_string();
        let bytes = fs::read(folder.path().join(path)).unwrap();
        let bytes = if Path::new(&name) == Path::new("run.json") {
            without_timings(&bytes)
        } else {
            bytes
        };
        (name, bytes)
    };
    folder
        .contents()
        .iter()
        .filter(is_below)
        .map(read)
        .collect()
}

fn without_timings(bytes: &[u8]) -> Vec<u8> {
    let mut record: serde_json::Value = serde_json::from_slice(bytes).unwrap();
    assert!(
        record.as_object_mut().unwrap().remove("timings").is_some(),
        "run.json has timings"
    );
    serde_json::to_vec(&record).unwrap()
}

#[test]
fn check_prints_a_row_for_each_layer_and_writes_nothing() {
    let folder = Farm::good().write();
    let ran = folder.run(&["check", "plan.toml"]);
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let row = ran
        .stdout
        .lines()
        .find(|line| line.starts_with("pH "))
        .unwrap_or_else(|| panic!("a row for pH: {}", ran.stdout));
    let cells: Vec<&str> = row.split_whitespace().collect();
    assert_eq!(
        cells[..6],
        ["pH", "ph,", "water", "0-6", "in", "36"],
        "column, what it is, method, depth, n: {row}"
    );
    assert_eq!(folder.contents().len(), 3, "nothing was written");

    let record = folder.run(&["check", "plan.toml", "--json"]).json();
    let layers = record["layers"].as_array().unwrap();
    let ph = layers
        .iter()
        .find(|layer| layer["analyte"] == "ph")
        .unwrap();
    assert_eq!(
        (ph["n"].as_u64(), ph["unit"].as_str().is_some()),
        (Some(36), true)
    );
    assert_eq!(
        (ph["minimum"].as_f64(), ph["maximum"].as_f64()),
        (Some(5.3), Some(6.7))
    );
}

#[test]
fn check_counts_blanks_and_results_below_detection() {
    let mut rows = crate::farm::core_rows();
    rows[2][5] = "<5".to_owned();
    rows[3][5] = String::new();
    let folder = Farm::good().cores(crate::farm::csv(&rows)).write();
    let record = folder.run(&["check", "plan.toml", "--json"]).json();
    let p = record["layers"]
        .as_array()
        .unwrap()
        .iter()
        .find(|layer| layer["analyte"] == "p")
        .unwrap()
        .clone();
    assert_eq!(
        (
            p["n"].as_u64(),
            p["missing"].as_u64(),
            p["below_detection"].as_u64()
        ),
        (Some(35), Some(1), Some(1))
    );
    assert_eq!(
        p["minimum"].as_f64(),
        Some(2.5),
        "half the limit, unless the plan says otherwise"
    );
}

#[test]
fn a_row_of_one_depth_is_no_blank_of_the_other() {
    let mut rows = crate::farm::core_rows();
    rows[0][0] = "depth".to_owned();
    for (at, row) in rows.iter_mut().enumerate().skip(1) {
        row[0] = if at % 2 == 0 { "0-2 in" } else { "0-6 in" }.to_owned();
    }
    rows[2][5] = String::new();
    let farm = Farm::good().cores(crate::farm::csv(&rows)).plan_with(
        "id = \"core\"\ndepth = \"0-6 in\"",
        "depth_column = \"depth\"",
    );
    let record = farm.write().run(&["check", "plan.toml", "--json"]).json();
    let count = |analyte: &str, depth: &str| {
        let layers = record["layers"].as_array().unwrap();
        let layer = layers
            .iter()
            .find(|layer| layer["analyte"] == analyte && layer["depth"] == depth)
            .unwrap();
        (
            layer["n"].as_u64().unwrap(),
            layer["missing"].as_u64().unwrap(),
        )
    };
    assert_eq!(
        (count("ph", "0-2 in"), count("ph", "0-6 in")),
        ((18, 0), (18, 0))
    );
    assert_eq!(
        (count("p", "0-2 in"), count("p", "0-6 in")),
        ((17, 1), (18, 0))
    );
}

#[test]
fn start_writes_a_plan_that_check_can_read_and_never_overwrites_one() {
    let folder = Farm::good().write();
    let start = [
        "start",
        "new",
        "--boundary",
        "boundary.geojson",
        "--points",
        "cores.csv",
    ];
    let ran = folder.run(&start);
    assert_eq!((ran.code, ran.stderr.as_str()), (0, ""), "{}", ran.stdout);
    assert!(ran.stdout.contains("new/plan.toml"));
    let drafted = fs::read(folder.path().join("new/plan.toml")).unwrap();
    let checked = folder.run(&["check", "new/plan.toml"]);
    assert!(matches!(checked.code, 0 | 1), "{}", checked.stderr);

    let again = folder.run(&start);
    assert_eq!((again.code, again.stdout.as_str()), (2, ""));
    assert!(again.stderr.contains("--force"), "{}", again.stderr);
    assert_eq!(
        fs::read(folder.path().join("new/plan.toml")).unwrap(),
        drafted
    );
    let forced = folder.run(&[&start[..], &["--force", "--json"]].concat());
    assert_eq!(forced.code, 0, "{}", forced.stderr);
    assert!(
        !forced.json()["marked_rows"].as_array().unwrap().is_empty(),
        "the field's name is a guess at the least"
    );
}

#[test]
fn explain_tells_one_zone_of_a_finished_run() {
    let folder = Farm::good().write();
    folder.run(&["plan", "plan.toml", "--out", "out"]);
    let ran = folder.run(&["explain", "out", "--zone", "1"]);
    assert_eq!((ran.code, ran.stderr.as_str()), (0, ""));
    assert!(
        ran.stdout.to_lowercase().contains("zone 1"),
        "{}",
        ran.stdout
    );
    assert_eq!(
        folder
            .run(&["explain", "out", "--zone", "1", "--json"])
            .json()["zone"],
        1
    );

    let beyond = folder.run(&["explain", "out", "--zone", "9"]);
    assert_eq!((beyond.code, beyond.stdout.as_str()), (2, ""));
    assert!(beyond.stderr.contains('9'), "{}", beyond.stderr);
    assert_eq!(
        folder.run(&["explain", ".", "--zone", "1"]).code,
        2,
        "a folder without a run"
    );
}

/// The threads once freed their PROJ contexts while the program freed PROJ's own memory at its end: two runs of three were
/// ended by the operating system.
#[test]
fn a_run_ends_by_itself_time_after_time() {
    let folder = Farm::good().write();
    for turn in 0..20 {
        let ran = folder.run(&["plan", "plan.toml", "--out", "out", "--quiet"]);
        assert!(matches!(ran.code, 0 | 1), "turn {turn}: {}", ran.stderr);
    }
}
