//! The whole way in Chromium, by mouse at two sizes and once by keyboard alone. `scripts/prepare.sh test` brings what it needs; where that
//! is missing it is said, and in `.ci/run` the test fails.

use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::{Value, json};

use super::program::Desk;
use super::small_field;

/// Set where every tool has to be there (`make test`, `.ci/run`).
const REQUIRED: &str = "LOWSTAVE_REQUIRE_TOOLS";

pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The folder with the library that drives the browser; `None` where it is not installed, which is said.
pub fn tools() -> Option<PathBuf> {
    let tools = root().join("target/tools/browser");
    let is_there = tools.join("node_modules/playwright-core").is_dir()
        && Path::new("/usr/bin/chromium").exists()
        && Command::new("node").arg("--version").output().is_ok();
    if is_there {
        return Some(tools);
    }
    assert!(
        std::env::var_os(REQUIRED).is_none(),
        "node, chromium or playwright-core is not installed, and {REQUIRED} is set: sh scripts/prepare.sh test"
    );
    println!("the browser test could not run: sh scripts/prepare.sh test");
    None
}

/// Goes the whole way in a window of a size; `by` mouse or keys.
fn way(size: (u32, u32), by: &str) {
    let Some(tools) = tools() else { return };
    let folder = tempfile::tempdir().unwrap();
    let files = tempfile::tempdir().unwrap();
    small_field::write_files(files.path());
    let dropped: Vec<String> = ["boundary.geojson", "cores.csv"]
        .iter()
        .map(|name| files.path().join(name).display().to_string())
        .collect();
    let zip = files.path().join("result.zip");
    let desk = Desk::of(folder.path());
    let output = Command::new("node")
        .arg(root().join("tests/desk/browser/way.mjs"))
        .arg(&tools)
        .arg(root().join("tests/deliver/axe/axe.min.js"))
        .args([&desk.address, &dropped.join(",")])
        .arg(&zip)
        .args([size.0.to_string(), size.1.to_string(), by.to_owned()])
        .output()
        .unwrap();
    let text = String::from_utf8_lossy(&output.stdout);
    let told: Value = serde_json::from_str(text.trim()).unwrap_or_else(|error| {
        panic!(
            "{error}: {text} {}",
            String::from_utf8_lossy(&output.stderr)
        )
    });
    assert_eq!(told["done"], true, "{told:#}");
    // The browser itself notes the one change that is refused on the way.
    let refused = "error: Failed to load resource: the server responded with a status of 422 (Unprocessable Entity)";
    assert_eq!(told["console"], json!([refused]), "{size:?} by {by}");
    for nothing in ["outside", "violations", "overflow"] {
        assert_eq!(told[nothing], json!([]), "{nothing} at {size:?} by {by}");
    }
    assert!(told["passes"].as_u64().unwrap() > 100, "axe looked: {told}");
    assert!(
        !told["address"].as_str().unwrap().contains("token"),
        "{told}"
    );
    assert!(
        told["slip"].as_str().unwrap().contains("budget 3 USD/ac"),
        "{told}"
    );
    let refusal = told["refusal"].as_str().unwrap();
    assert!(
        refusal.contains("90000"),
        "why stands in the slip: {refusal}"
    );
    let drawn = told["drawn"].as_str().unwrap();
    assert!(drawn.contains("zones instead of"), "{drawn}");
    println!("answers in ms: {}", told["milliseconds"]);
    is_kept(&desk);
    super::take::is_what_plan_writes(&desk, &std::fs::read(zip).unwrap());
}

/// What was kept stands in the plan, and what was taken back does not.
fn is_kept(desk: &Desk) {
    let text = desk.plan_text();
    for wanted in [
        "limit = \"80 USD/ac\"",
        "the grower's word",
        "why = \"seen on foot\"",
        "inside = [[-95.",
        "why = \"a wet hollow\"",
        "mehlich-3",
    ] {
        assert!(text.contains(wanted), "{wanted:?} in {text}");
    }
    for gone in ["a test of the page", "a spoil heap", "3 USD/ac"] {
        assert!(!text.contains(gone), "{gone:?} in {text}");
    }
}

#[test]
fn the_whole_way_on_a_wide_screen() {
    way((1920, 1080), "mouse");
}

#[test]
fn the_whole_way_on_a_phone() {
    way((390, 844), "mouse");
}

#[test]
fn the_whole_way_by_keyboard_alone() {
    way((1280, 900), "keys");
}

#[test]
fn the_sample_shows_what_was_measured_and_what_the_harvest_says() {
    let Some(tools) = tools() else { return };
    let (_folder, desk) = super::season::alder_flat();
    let files = tempfile::tempdir().unwrap();
    let harvest = files.path().join("harvest.csv");
    std::fs::write(
        &harvest,
        super::season::harvest::harvest("plan.toml").unwrap(),
    )
    .unwrap();
    let output = Command::new("node")
        .arg(root().join("tests/desk/browser/sample.mjs"))
        .arg(&tools)
        .arg(&desk.address)
        .arg(&harvest)
        .output()
        .unwrap();
    let text = String::from_utf8_lossy(&output.stdout);
    let told: Value = serde_json::from_str(text.trim()).unwrap_or_else(|error| {
        panic!(
            "{error}: {text} {}",
            String::from_utf8_lossy(&output.stderr)
        )
    });
    assert_eq!(
        (&told["done"], &told["console"]),
        (&json!(true), &json!([])),
        "{told:#}"
    );
    assert!(told["samples"].as_u64().unwrap() > 20, "{told:#}");
    let why = told["why"].as_str().unwrap();
    let verdict = told["flat"][2].as_str().unwrap();
    assert!(
        why.starts_with("No map is drawn: ") && why.contains(verdict),
        "{why}"
    );
    assert!(told["values"].as_u64().unwrap() > 10, "{told:#}");
    // By depth from the top down, each with its row of the file.
    let depths: Vec<&str> = told["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| row[0].as_str().unwrap())
        .collect();
    let last_of_top = depths.iter().rposition(|depth| *depth == "0-2 in").unwrap();
    let first_below = depths.iter().position(|depth| *depth == "0-6 in").unwrap();
    assert!(last_of_top < first_below, "{depths:?}");
    assert!(
        told["rows"][0][4].as_str().unwrap().parse::<u32>().is_ok(),
        "{told:#}"
    );
    let names = told["names"].to_string();
    assert!(
        names.contains("C:N") && !names.contains("cn_ratio") && !names.contains('_'),
        "{names}"
    );
    assert_eq!(
        told["verdict"].as_str().unwrap(),
        super::season::verdict_of_command(&desk)
    );
}
