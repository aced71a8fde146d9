//! A second season: the sheet "Since last time", the record of inputs, and earlier folders that are refused. All data are invented.

use std::fs;
use std::path::Path;
use std::sync::LazyLock;

use serde_json::Value;
use tempfile::TempDir;

use crate::program::{Ran, run_in};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

pub(crate) fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from)
        .unwrap()
        .map(|entry| entry.unwrap().path())
    {
        if entry.is_file() {
            fs::copy(&entry, to.join(entry.file_name().unwrap())).unwrap();
        }
    }
}

/// Both seasons of the sample, the first one planned; made once.
static FIRST: LazyLock<TempDir> = LazyLock::new(|| {
    let folder = tempfile::tempdir().unwrap();
    for sample in ["alder-flat", "alder-flat-2028"] {
        let inside = Path::new("samples").join(sample);
        copy(&root().join(&inside), &folder.path().join(&inside));
    }
    let ran = run_in(
        folder.path(),
        &[
            "plan",
            "samples/alder-flat/plan.toml",
            "--out",
            "alder-flat-2027",
            "--quiet",
        ],
    );
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    folder
});

/// A copy of the first season that a test may spoil; its maps and controller files are left behind.
pub(crate) fn seasons() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    for inside in [
        "samples/alder-flat",
        "samples/alder-flat-2028",
        "alder-flat-2027",
    ] {
        copy(&FIRST.path().join(inside), &folder.path().join(inside));
    }
    folder
}

pub(crate) fn second(folder: &Path) -> Ran {
    run_in(
        folder,
        &[
            "plan",
            "samples/alder-flat-2028/plan.toml",
            "--out",
            "alder-flat-2028",
            "--quiet",
        ],
    )
}

pub(crate) fn change(file: &Path, from: &str, to: &str) {
    let text = fs::read_to_string(file).unwrap();
    assert!(text.contains(from), "{} holds \"{from}\"", file.display());
    fs::write(file, text.replacen(from, to, 1)).unwrap();
}

/// What stands below a heading of a text, up to the next chapter.
fn chapter(text: &str, heading: &str) -> String {
    let from = text.find(heading).unwrap();
    let rest = &text[from..];
    let end = rest[heading.len()..]
        .match_indices("\n===")
        .nth(1)
        .map_or(rest.len(), |(at, _)| {
            let before = &rest[..heading.len() + at];
            before.rfind('\n').unwrap_or(before.len())
        });
    rest[..end].to_owned()
}

#[test]
fn the_sheets_of_the_second_season_are_the_ones_that_were_read() {
    let folder = seasons();
    let ran = second(folder.path());
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let out = folder.path().join("alder-flat-2028");
    let read = |name: &str| fs::read_to_string(out.join(name)).unwrap();
    let report = read("report.txt");
    assert!(
        report.lines().count() <= 150,
        "{} lines",
        report.lines().count()
    );
    insta::assert_snapshot!("second_season_report", report);
    insta::assert_snapshot!(
        "second_season_details",
        chapter(&read("details.txt"), "SINCE LAST TIME")
    );
    insta::assert_snapshot!("second_season_records", read("records.txt"));
    let page = read("report.html");
    assert!(
        page.contains("Two barrels: ") && page.contains("id=\"since\""),
        "the chapter with its pictures"
    );
    // The truth of the maker: the lime did nothing, phosphorus did not move.
    let said = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains(
            "the formula says 6.06 now, the soil test 5.75 (90 %: 5.45 to 6.05): it is less than the formula says"
        ),
        "{report}"
    );
    assert!(
        !report.contains("phosphorus 3") && !report.contains("phosphorus 2"),
        "{report}"
    );
}

#[test]
fn without_an_earlier_season_nothing_is_said_of_one() {
    let report = fs::read_to_string(FIRST.path().join("alder-flat-2027/report.txt")).unwrap();
    let page = fs::read_to_string(FIRST.path().join("alder-flat-2027/report.html")).unwrap();
    assert!(!report.contains("SINCE LAST") && !page.contains("id=\"since\""));
}

/// Spoils the folder of the first season or the plan of the second; the code and the words that must come.
type Case = (&'static str, fn(&Path), &'static str);

const REFUSED: &[Case] = &[
    (
        "the folder is gone",
        |folder| fs::remove_dir_all(folder.join("alder-flat-2027")).unwrap(),
        "holds no earlier run that can be read",
    ),
    (
        "the record of the season was edited",
        |folder| {
            change(
                &folder.join("alder-flat-2027/season.json"),
                "\"ordered\": 0",
                "\"ordered\": 1",
            );
        },
        "season.json\" was changed since it was written",
    ),
    (
        "the zones were edited",
        |folder| {
            change(
                &folder.join("alder-flat-2027/prescription.geojson"),
                "\"zone\":1",
                "\"zone\":2",
            );
        },
        "prescription.geojson\" was changed since it was written",
    ),
    (
        "the zones are gone",
        |folder| fs::remove_file(folder.join("alder-flat-2027/prescription.geojson")).unwrap(),
        "is gone since it was written",
    ),
    (
        "the folder is that of the season itself",
        |folder| {
            change(
                &folder.join("samples/alder-flat-2028/plan.toml"),
                "season   = 2028",
                "season   = 2027",
            );
        },
        "a season is compared with an earlier one, never with itself",
    ),
    (
        "a season is named twice",
        |folder| {
            copy(&folder.join("alder-flat-2027"), &folder.join("again"));
            change(
                &folder.join("samples/alder-flat-2028/plan.toml"),
                "runs = [\"../../alder-flat-2027\"]",
                "runs = [\"../../alder-flat-2027\", \"../../again\"]",
            );
        },
        "are both runs of 2027",
    ),
    (
        "the record is another program's",
        |folder| {
            change(
                &folder.join("alder-flat-2027/run.json"),
                "\"lowstave\"",
                "\"spreadsheet\"",
            );
        },
        "was written by \"spreadsheet\"",
    ),
    (
        "the log is of a season that no run is named of",
        |folder| {
            change(
                &folder.join("samples/alder-flat-2028/plan.toml"),
                "season  = 2027",
                "season  = 2026",
            );
            change(
                &folder.join("samples/alder-flat-2028/plan.toml"),
                "date    = 2027-03-25",
                "date    = 2026-03-25",
            );
        },
        "[past] names no run of that season",
    ),
    (
        "the log is of a product that was not ordered",
        |folder| {
            change(
                &folder.join("samples/alder-flat-2028/plan.toml"),
                "product = \"lime\"",
                "product = \"seaweed_meal\"",
            );
        },
        "is no product of this prescription",
    ),
    (
        "the work is dated after its season",
        |folder| {
            change(
                &folder.join("samples/alder-flat-2028/plan.toml"),
                "date    = 2027-03-25",
                "date    = 2029-03-25",
            );
        },
        "the work is of 25 March 2029, and its season is 2027",
    ),
    (
        "the samples are of the future",
        |folder| {
            change(
                &folder.join("samples/alder-flat-2028/plan.toml"),
                "sampled    = 2027-10-14",
                "sampled    = 2028-10-14",
            );
        },
        "nothing is sampled in the future",
    ),
    (
        "a log is named twice",
        |folder| {
            let sample = folder.join("samples/alder-flat-2028");
            fs::copy(
                sample.join("lime-applied-2027.csv"),
                sample.join("again.csv"),
            )
            .unwrap();
            let text = fs::read_to_string(sample.join("plan.toml")).unwrap();
            let (_, log) = text.split_once("[[results]]").unwrap();
            let again = log.replace("lime-applied-2027.csv", "again.csv");
            fs::write(
                sample.join("plan.toml"),
                format!("{text}\n[[results]]{again}"),
            )
            .unwrap();
        },
        "what went out once would count twice",
    ),
    (
        "the season of the run's record was edited",
        |folder| {
            change(
                &folder.join("alder-flat-2027/run.json"),
                "\"season\": 2027",
                "\"season\": 2026",
            );
        },
        "says another season or crop than season.json beside it",
    ),
    (
        "the log lies elsewhere",
        |folder| {
            let file = folder.join("samples/alder-flat-2028/lime-applied-2027.csv");
            let text = fs::read_to_string(&file).unwrap();
            fs::write(file, text.replace(",44.", ",45.")).unwrap();
        },
        "records lies on \"Alder Flat\"",
    ),
];

#[test]
fn an_earlier_season_that_cannot_be_compared_is_refused_with_words() {
    for (name, spoil, words) in REFUSED {
        let folder = seasons();
        spoil(folder.path());
        let ran = second(folder.path());
        let said = ran.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(ran.code, 2, "{name}: {said}");
        assert!(said.contains(words), "{name}: {said}");
        assert!(
            !folder.path().join("alder-flat-2028").exists(),
            "{name}: something was written"
        );
    }
}

#[test]
fn the_run_of_another_field_is_refused() {
    let folder = seasons();
    let inside = Path::new("samples/open-field");
    copy(&root().join(inside), &folder.path().join(inside));
    let plan = folder.path().join("samples/open-field/plan.toml");
    let ran = run_in(
        folder.path(),
        &["plan", plan.to_str().unwrap(), "--out", "open", "--quiet"],
    );
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    change(
        &folder.path().join("samples/alder-flat-2028/plan.toml"),
        "runs = [\"../../alder-flat-2027\"]",
        "runs = [\"../../open\"]",
    );
    let plan = folder.path().join("samples/alder-flat-2028/plan.toml");
    let text = fs::read_to_string(&plan).unwrap();
    fs::write(&plan, text.split("[[results]]").next().unwrap()).unwrap();
    let ran = second(folder.path());
    assert_eq!(ran.code, 2, "{}", ran.stderr);
    let said = ran.stderr.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("it is another field's"), "{said}");
}

#[test]
fn a_folder_of_a_version_without_the_record_is_read_as_far_as_it_goes() {
    let folder = seasons();
    let run = folder.path().join("alder-flat-2027/run.json");
    let mut record: Value = serde_json::from_slice(&fs::read(&run).unwrap()).unwrap();
    let files = record["files"].as_array_mut().unwrap();
    files.retain(|file| {
        !matches!(
            file["path"].as_str(),
            Some("season.json" | "records.csv" | "records.txt")
        )
    });
    fs::write(&run, serde_json::to_string(&record).unwrap()).unwrap();
    fs::remove_file(folder.path().join("alder-flat-2027/season.json")).unwrap();
    let ran = second(folder.path());
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let details = fs::read_to_string(folder.path().join("alder-flat-2028/details.txt")).unwrap();
    let sheet = chapter(&details, "SINCE LAST TIME");
    let said = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("is of a version that kept no places, laboratories and dates"),
        "{sheet}"
    );
    assert!(
        said.contains("no change shown") && said.contains("lb/ac ordered on this ground"),
        "{sheet}"
    );
    let records = fs::read_to_string(folder.path().join("alder-flat-2028/records.txt")).unwrap();
    assert!(records.contains("keeps no list of inputs"), "{records}");
}

#[test]
fn another_laboratory_method_or_time_of_the_year_is_not_compared() {
    let cases = [
        (
            "laboratory = \"Three Alders test bench\"",
            "laboratory = \"Another bench\"",
            "another laboratory: Three Alders test bench then, Another bench now",
        ),
        (
            "sampled    = 2027-10-14",
            "sampled    = 2027-04-10",
            "another time of the year",
        ),
        (
            "method = \"mehlich-3\", unit = \"ppm\" }\n  \"K ppm\"",
            "method = \"bray-1\", unit = \"ppm\" }\n  \"K ppm\"",
            "another method: mehlich-3 then, bray-1 now",
        ),
        (
            "moisture = \"field capacity\"",
            "moisture = \"dry\"",
            "other moisture: field capacity then, dry now",
        ),
    ];
    for (from, to, words) in cases {
        let folder = seasons();
        change(
            &folder.path().join("samples/alder-flat-2028/plan.toml"),
            from,
            to,
        );
        let ran = second(folder.path());
        assert!(matches!(ran.code, 0 | 1), "{to}: {}", ran.stderr);
        let details =
            fs::read_to_string(folder.path().join("alder-flat-2028/details.txt")).unwrap();
        let said = chapter(&details, "SINCE LAST TIME")
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        assert!(
            said.contains("not comparable") && said.contains(words),
            "{to}: {said}"
        );
    }
}

#[test]
fn the_record_of_inputs_names_all_that_goes_out_and_approves_of_nothing() {
    let out = FIRST.path().join("alder-flat-2027");
    let text = fs::read_to_string(out.join("records.csv")).unwrap();
    let sheet = fs::read_to_string(out.join("records.txt")).unwrap();
    for text in [&text, &sheet] {
        let lower = text.to_lowercase();
        assert!(
            !lower.contains("approved") && !lower.contains("allowed"),
            "{text}"
        );
    }
    let mut rows = csv::Reader::from_reader(text.as_bytes());
    let heads = rows.headers().unwrap().clone();
    let at = |name: &str| heads.iter().position(|head| head == name).unwrap();
    let rows: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
    let mut lime = 0.0;
    for row in &rows {
        for open in [
            "maker_and_brand",
            "lot",
            "supplier_and_invoice",
            "certifiers_word",
            "date_applied",
        ] {
            assert!(row[at(open)].is_empty(), "{open} is left open: {row:?}");
        }
        assert_eq!(
            (&row[at("season")], &row[at("date_planned")]),
            ("2027", "2027-03-02")
        );
        assert!(!row[at("reason")].is_empty(), "{row:?}");
        let number = |name: &str| row[at(name)].parse::<f64>().unwrap();
        if &row[at("rate_unit")] == "lb/ac" {
            let whole = number("rate_planned") * number("area");
            assert!(
                (whole - number("total_planned")).abs() < 0.01 * whole + 1.0,
                "{row:?}"
            );
        }
        if &row[at("product")] == "calcitic lime" {
            lime += number("total_planned");
        }
    }
    assert!(
        (lime - 50_767.0).abs() < 10.0,
        "as much as the mix sheet buys: {lime}"
    );
}

#[test]
fn the_record_of_the_season_is_what_its_schema_says() {
    let schema = root().join("docs/schema/season.schema.json");
    let schema: Value = serde_json::from_slice(&fs::read(schema).unwrap()).unwrap();
    let record = FIRST.path().join("alder-flat-2027/season.json");
    let record: Value = serde_json::from_slice(&fs::read(record).unwrap()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = validator
        .iter_errors(&record)
        .map(|error| format!("{}: {error}", error.instance_path()))
        .collect();
    assert!(faults.is_empty(), "{faults:?}");
}
