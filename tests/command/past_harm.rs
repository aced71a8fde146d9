//! What a second season must never do: write over the first, trust salt that nobody tested, compare what does not compare, lose what was
//! logged. All data are invented.

use std::fs;
use std::path::Path;

use tempfile::TempDir;

use crate::past::{change, copy, seasons, second};
use crate::program::run_in;

#[test]
fn the_folder_of_an_earlier_season_is_never_written_over() {
    let folder = seasons();
    let earlier = folder.path().join("alder-flat-2027");
    let before: Vec<(std::ffi::OsString, Vec<u8>)> = contents(&earlier);
    for out in [
        "alder-flat-2027",
        "samples/../alder-flat-2027/",
        "./alder-flat-2027",
    ] {
        for force in [&[][..], &["--force"]] {
            let plan = [
                "plan",
                "samples/alder-flat-2028/plan.toml",
                "--out",
                out,
                "--quiet",
            ];
            let ran = run_in(folder.path(), &[&plan[..], force].concat());
            assert_eq!(ran.code, 2, "{out}: {}", ran.stderr);
            let said = ran.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(
                said.contains("writing there would destroy the record of that season"),
                "{out}: {said}"
            );
            assert!(contents(&earlier) == before, "{out}: something was written");
        }
    }
}

/// Names and bytes of the files of a folder.
fn contents(folder: &Path) -> Vec<(std::ffi::OsString, Vec<u8>)> {
    let entries = fs::read_dir(folder).unwrap();
    let files = entries
        .map(Result::unwrap)
        .filter(|entry| entry.path().is_file());
    let mut files: Vec<_> = files
        .map(|entry| (entry.file_name(), fs::read(entry.path()).unwrap()))
        .collect();
    files.sort();
    files
}

/// The plan of the second season changed, run, and its files of text without line breaks.
fn changed(changes: &[(&str, &str)]) -> (TempDir, impl Fn(&str) -> String) {
    let folder = seasons();
    for (from, to) in changes {
        change(
            &folder.path().join("samples/alder-flat-2028/plan.toml"),
            from,
            to,
        );
    }
    let ran = second(folder.path());
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let out = folder.path().join("alder-flat-2028");
    let read = move |name: &str| {
        let text = fs::read_to_string(out.join(name)).unwrap();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    (folder, read)
}

#[test]
fn salt_that_is_not_tested_again_is_told_and_keeps_the_starter_back() {
    let (_folder, read) = changed(&[
        (
            "\"EC dS/m\"       = { is = \"ec\", method = \"paste\", unit = \"dS/m\" }",
            "",
        ),
        (
            "ignore     = [\"origin\"]",
            "ignore     = [\"origin\", \"EC dS/m\"]",
        ),
    ]);
    let (report, details) = (read("report.txt"), read("details.txt"));
    assert!(
        report.contains("limited then, not tested this year: salt"),
        "{report}"
    );
    assert!(
        details.contains("the run of 2027 found salt on this ground"),
        "{details}"
    );
}

#[test]
fn a_limit_of_another_laboratory_neither_leaves_nor_comes() {
    let (_folder, read) = changed(&[(
        "laboratory = \"Three Alders test bench\"",
        "laboratory = \"Another bench\"",
    )]);
    let report = read("report.txt");
    assert!(
        report.contains(
            "not comparable (another laboratory: Three Alders test bench then, Another bench now), limit then, none now: potassium"
        ),
        "{report}"
    );
    assert!(
        !report.contains("left, within the error: potassium")
            && report.contains("no limit is shown to have left"),
        "{report}"
    );
}

#[test]
fn the_record_keeps_what_the_log_shows_where_nothing_was_ordered() {
    let folder = seasons();
    let sample = folder.path().join("samples/alder-flat-2028");
    let log = sample.join("lime-applied-2027.csv");
    let text = fs::read_to_string(&log).unwrap();
    let mut rows: Vec<String> = text.lines().map(str::to_owned).collect();
    rows[1] = rows[1].replace(",2037,", ",-2037,");
    fs::write(&log, rows.join("\n")).unwrap();
    let plan = sample.join("plan.toml");
    change(&plan, "product = \"lime\"", "product = \"gypsum\"");
    change(&plan, "sampled    = 2027-10-14", "");
    let ran = second(folder.path());
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let read = |name: &str| {
        let text = fs::read_to_string(folder.path().join("alder-flat-2028").join(name)).unwrap();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let (csv, sheet, details) = (
        read("records.csv"),
        read("records.txt"),
        read("details.txt"),
    );
    assert!(
        csv.contains("not ordered in this zone: only the log shows it"),
        "{csv}"
    );
    assert!(
        sheet.contains("Logged outside what was ordered: gypsum"),
        "{sheet}"
    );
    assert!(
        details.contains("1 rates are below 0 and are left out"),
        "{details}"
    );
    let report = read("report.txt");
    assert!(
        report.contains("the day of sampling is not said in both plans"),
        "{report}"
    );
}

#[test]
fn a_formula_is_not_held_against_cores_that_were_pulled_before_the_work() {
    let (_folder, read) = changed(&[("date    = 2027-03-25", "date    = 2027-12-01")]);
    let (report, details) = (read("report.txt"), read("details.txt"));
    assert!(
        !report.contains("it is less than the formula says"),
        "{report}"
    );
    assert!(
        details.contains(
            "is not compared with the soil test: the work is of 1 December 2027, and the samples were taken on 14 October 2027"
        ),
        "{details}"
    );
}

/// The second season with a number of the rulebook changed: its details.
fn details_with(number: &str, value: f64) -> String {
    let folder = seasons();
    let rules = format!(
        "[number.{number}]\nvalue = {value}\nwhat = \"a test\"\nbasis = \"own\"\nsource = \"a test\"\n"
    );
    let file = folder.path().join("samples/alder-flat/rules.toml");
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, format!("{text}\n{rules}")).unwrap();
    let ran = second(folder.path());
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let details = folder.path().join("alder-flat-2028/details.txt");
    let text = fs::read_to_string(details).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn how_far_more_than_needed_is_too_much_stands_in_the_rulebook() {
    let far_more = "far more than the whole need went out here by the log";
    assert!(!details_with("far_more_than_needed", 1.25).contains(far_more));
    assert!(details_with("far_more_than_needed", 0.1).contains(far_more));
}

#[test]
fn what_lies_on_a_zone_by_the_edge_alone_stands_in_the_rulebook() {
    let ordered = |details: &str| details.matches(" ordered").count();
    let usual = ordered(&details_with("mere_edge", 0.05));
    let none = ordered(&details_with("mere_edge", 10.0));
    assert!(none < usual, "{none} of {usual}");
}

#[test]
fn the_verdict_on_the_own_strips_is_weighed_and_told() {
    let season = crate::strips::season();
    let folder = seasons();
    fs::copy(
        season.path().join("harvest.csv"),
        folder.path().join("harvest.csv"),
    )
    .unwrap();
    let ran = run_in(
        folder.path(),
        &[
            "verdict",
            "alder-flat-2027",
            "--results",
            "harvest.csv",
            "--quiet",
        ],
    );
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let ran = second(folder.path());
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let report = fs::read_to_string(folder.path().join("alder-flat-2028/report.txt")).unwrap();
    let said = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("on this farm, where it was called for: +"),
        "{report}"
    );
    assert!(
        said.contains("1 trial, ") && said.contains("too few trials to decide by"),
        "{report}"
    );
    let lines = report.lines().count();
    assert!(lines <= 160, "{lines} lines");
    // One harvest counts once.
    let plan = folder.path().join("samples/alder-flat-2028/plan.toml");
    let once = fs::read_to_string(&plan).unwrap();
    copy(
        &folder.path().join("alder-flat-2027"),
        &folder.path().join("again"),
    );
    change(
        &plan,
        "runs = [\"../../alder-flat-2027\"]",
        "runs = [\"../../alder-flat-2027\", \"../../again\"]",
    );
    let ran = second(folder.path());
    assert_eq!(ran.code, 2, "{}", ran.stderr);
    let said = ran.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("one harvest counts once"), "{said}");
    fs::write(&plan, once).unwrap();
    // A verdict that was edited is no evidence.
    change(
        &folder.path().join("alder-flat-2027/verdict.json"),
        "\"gain\": ",
        "\"gain\": 1",
    );
    fs::remove_dir_all(folder.path().join("alder-flat-2028")).unwrap();
    let ran = second(folder.path());
    assert_eq!(ran.code, 2, "{}", ran.stderr);
    assert!(ran.stderr.contains("verdict.json"), "{}", ran.stderr);
}
