//! Three fields' files as people send them, all invented (`tests/intake/datasets`): `start`, `check` and `plan` without an edit of the files
//! and with at most two edits of the plan, and every column of every file accounted for.

use std::fs;
use std::path::{Path, PathBuf};

use crate::program::{Ran, run_in};

/// A copy of a dataset that the program may write beside.
struct Dataset {
    folder: tempfile::TempDir,
}

impl Dataset {
    fn copy(name: &str) -> Self {
        let from = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("tests/intake/datasets")
            .join(name);
        let folder = tempfile::tempdir().unwrap();
        for file in fs::read_dir(from).unwrap() {
            let path: PathBuf = file.unwrap().path();
            fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
        }
        Self { folder }
    }

    fn run(&self, arguments: &[&str]) -> Ran {
        run_in(self.folder.path(), arguments)
    }

    fn plan(&self) -> String {
        fs::read_to_string(self.folder.path().join("plan.toml")).unwrap()
    }

    fn edit(&self, from: &str, to: &str) {
        let plan = self.plan();
        assert!(plan.contains(from), "{plan}");
        fs::write(
            self.folder.path().join("plan.toml"),
            plan.replacen(from, to, 1),
        )
        .unwrap();
    }

    /// `start` and `check`; every column stands in the plan, and is read or told by `check`.
    fn start_and_check(&self, boundary: &str, points: &[&str], columns: &[&str]) -> String {
        let mut arguments = vec!["start", ".", "--boundary", boundary];
        points
            .iter()
            .for_each(|file| arguments.extend(["--points", file]));
        let started = self.run(&arguments);
        assert_eq!(started.code, 0, "{}", started.stderr);
        let checked = self.run(&["check", "plan.toml", "--json"]);
        assert!(checked.code <= 1, "{}{}", checked.stdout, checked.stderr);
        let plan = self.plan();
        for column in columns {
            assert!(
                plan.contains(&format!("\"{column}\"")),
                "{column} is not in\n{plan}"
            );
            // Places, names and depths have a key of the table; all others are results or are told.
            let is_key = plan
                .lines()
                .any(|line| line.contains(&format!("= \"{column}\"")));
            let has_word = checked.stdout.contains(&column.replace('"', "\\\""));
            assert!(is_key || has_word, "{column} is told nowhere");
        }
        plan
    }

    fn plan_is_made(&self) {
        let made = self.run(&["plan", "plan.toml", "--out", "out"]);
        assert!(made.code <= 1, "{}{}", made.stdout, made.stderr);
        assert!(
            self.folder
                .path()
                .join("out/prescription.geojson")
                .is_file()
        );
    }
}

#[test]
fn semicolons_decimal_commas_and_a_national_grid() {
    let data = Dataset::copy("1_semicolons_and_commas");
    let columns = [
        "Probennummer",
        "Rechtswert",
        "Hochwert",
        "Tiefe von [cm]",
        "Tiefe bis [cm]",
        "pH-Wert (CaCl2)",
        "P (CAL) mg/100 g",
        "K (CAL) mg/100 g",
        "Mg CaCl2 mg/100g",
        "Humusgehalt %",
        "SCHLAG",
        "Bemerkung",
    ];
    let plan = data.start_and_check("schlag.shp", &["proben.csv"], &columns);
    assert!(plan.contains("30 of the first 30 points fall inside the boundary"));
    assert!(plan.contains("field    = \"Erlengrund\"") && plan.contains("units    = \"metric\""));
    data.plan_is_made();
}

/// Two invented parcels that share an edge.
fn two_parcels() -> String {
    let ring = |west: f64, east: f64| {
        format!("[[[{west},40.7],[{east},40.7],[{east},40.7045],[{west},40.7045],[{west},40.7]]]")
    };
    let parcel = |name: &str, west, east| {
        format!(
            "{{\"type\":\"Feature\",\"properties\":{{\"NAME\":\"{name}\"}},\"geometry\":{{\"type\":\"Polygon\",\"coordinates\":{}}}}}",
            ring(west, east)
        )
    };
    let (west, east) = (
        parcel("West", -96.8, -96.797),
        parcel("East", -96.797, -96.794),
    );
    format!("{{\"type\":\"FeatureCollection\",\"features\":[{west},{east}]}}")
}

#[test]
fn a_boundary_of_two_parcels_and_a_copy_of_one_plan_with_words_that_are_not_known() {
    let data = Dataset::copy("3_markup_and_pushes");
    fs::write(data.folder.path().join("two.geojson"), two_parcels()).unwrap();
    data.run(&[
        "start",
        ".",
        "--boundary",
        "two.geojson",
        "--points",
        "pushes.csv",
    ]);
    let plan = data.plan();
    assert!(
        plan.contains("field    = \"West\"") && plan.contains("is = \"West\""),
        "{plan}"
    );
    data.edit(
        "choose = { attribute = \"NAME\", is = \"West\" }",
        "choose = { all = true }",
    );
    let checked = data.run(&["check", "plan.toml"]);
    assert!(
        checked
            .stdout
            .contains("2 parcels that share edges were joined to one outline"),
        "{}{}",
        checked.stdout,
        checked.stderr
    );
    // Words that only rates need are refused by check as by plan, each with its row.
    let words = "[shed]\nproducts = [\"starter\", \"unobtainium\"]\n[yield_goal]\nmarrows = \"10 bu/ac\"\n[[override]]\nat = [-97.5, 40.7]\nproduct = \"starter\"\nrate = \"0 gal/ac\"\nwhy = \"test\"\n[grid]";
    data.edit("[grid]", words);
    for arguments in [
        &["check", "plan.toml"][..],
        &["plan", "plan.toml", "--out", "out"],
    ] {
        let refused = data.run(arguments);
        assert_eq!(refused.code, 2, "{}{}", refused.stdout, refused.stderr);
        for told in [
            "mixed by its recipe",
            "\"unobtainium\"",
            "\"marrows\"",
            "no zone holds longitude -97.5",
            "row ",
        ] {
            assert!(
                refused.stderr.contains(told),
                "{told} is not in {}",
                refused.stderr
            );
        }
        let rows = refused.stderr.lines().filter(|line| line.contains("row "));
        assert!(rows.count() >= 4, "{}", refused.stderr);
    }
}

#[test]
fn a_laboratory_export_with_a_row_of_methods_joined_to_places() {
    let data = Dataset::copy("2_methods_row_and_places");
    let columns = [
        "Sample ID",
        "Soil pH",
        "Buffer pH",
        "O.M.",
        "P",
        "K",
        "Ca",
        "Mg",
        "Na",
        "S",
        "Zn",
        "CEC",
        "%Ca",
        "%Mg",
        "%K",
        "%H",
        "P2O5 Rec",
        "Crop",
        "GRID",
    ];
    let plan = data.start_and_check("boundary.geojson", &["lab.csv", "places.shp"], &columns);
    for line in [
        "\"Soil pH\" = { is = \"ph\", method = \"water\" }",
        "\"Buffer pH\" = { is = \"buffer_ph\", method = \"smp\" }",
        "\"O.M.\" = { is = \"organic_matter\", method = \"loi\", unit = \"%\" }",
        "\"P\" = { is = \"p\", method = \"bray-1\", unit = \"ppm\" }",
        "\"Zn\" = { is = \"zn\", method = \"dtpa\", unit = \"ppm\" }",
    ] {
        assert!(plan.contains(line), "{line} is not in\n{plan}");
    }
    // What the file does not say: how the cations were extracted.
    data.edit(
        "id     = \"Sample ID\"",
        "id     = \"Sample ID\"\nmethod = \"mehlich-3\"",
    );
    let checked = data.run(&["check", "plan.toml", "--json"]).json();
    let method_of = |column: &str| {
        let rows = checked["columns"].as_array().unwrap().iter();
        let row = rows.clone().find(|row| row["column"] == column).unwrap();
        row["method"].as_str().map(str::to_owned)
    };
    assert_eq!(method_of("K").as_deref(), Some("mehlich-3"));
    assert_eq!(
        method_of("P").as_deref(),
        Some("bray-1"),
        "the file's own word stands"
    );
    data.plan_is_made();
}

#[test]
fn cone_readings_one_row_a_push_in_a_field_from_markup() {
    let data = Dataset::copy("3_markup_and_pushes");
    let columns = [
        "Push",
        "GPS_Longitude",
        "GPS_Latitude",
        "Operator",
        "Moisture %",
        "Resistance 5cm (kPa)",
        "Resistance 10cm (kPa)",
        "Resistance 15cm (kPa)",
        "Resistance 20cm (kPa)",
        "Resistance 25cm (kPa)",
        "Resistance 30cm (kPa)",
        "Resistance 40cm (kPa)",
    ];
    data.start_and_check("field.kml", &["pushes.csv"], &columns);
    let checked = data.run(&["check", "plan.toml", "--json"]).json();
    let depths: Vec<&str> = checked["columns"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|row| row["method"] == "profile")
        .map(|row| row["depth"].as_str().unwrap())
        .collect();
    assert_eq!(
        depths,
        [
            "0-5 cm", "5-10 cm", "10-15 cm", "15-20 cm", "20-25 cm", "25-30 cm", "30-40 cm"
        ]
    );
    assert!(
        checked
            .to_string()
            .contains("rows 7, 13, 19, 25 and 31 end with nothing below")
    );
    data.plan_is_made();
}

/// What `start` guessed of depths and of other shapes is told by `check` until somebody takes the mark away.
#[test]
fn guesses_of_start_are_told_by_check_until_they_are_confirmed() {
    let data = Dataset {
        folder: tempfile::tempdir().unwrap(),
    };
    let write = |name: &str, text: &str| fs::write(data.folder.path().join(name), text).unwrap();
    write("two.geojson", &two_parcels());
    write(
        "lab.csv",
        "ID,Lat,Lon,Depth,K mg/kg,K lb/ac\n1,40.701,-96.799,0-15,120,240\n2,40.702,-96.798,0-15,130,250\n3,40.703,-96.7985,0-15,130,250\n",
    );
    data.run(&[
        "start",
        ".",
        "--boundary",
        "two.geojson",
        "--points",
        "lab.csv",
    ]);
    let codes = |list: &str| -> Vec<String> {
        let ran = data.run(&["check", "plan.toml", "--json"]);
        assert!(ran.code <= 1, "{}{}", ran.stdout, ran.stderr);
        let record = ran.json();
        let remarks = record[list].as_array().unwrap().iter();
        let codes = remarks.map(|remark| remark["code"].as_str().unwrap().to_owned());
        codes.collect()
    };
    let said = |list: &str, code: &str| codes(list).iter().any(|own| own == code);
    assert!(said("remarks", "depth-unit-assumed"), "{}", data.plan());
    assert!(said("not_used", "columns-ignored"), "{}", data.plan());
    let plan = data.plan();
    let confirmed: Vec<&str> = plan
        .lines()
        .map(|line| line.split("# GUESS").next().unwrap_or(line))
        .collect();
    write("plan.toml", &confirmed.join("\n"));
    assert!(!said("remarks", "depth-unit-assumed"));
    assert!(!said("not_used", "columns-ignored"));
}

/// Places in one file, results without places in another: `start` and `check` without an edit.
#[test]
fn places_and_results_in_two_tables_are_joined_without_an_edit() {
    let data = Dataset {
        folder: tempfile::tempdir().unwrap(),
    };
    let write = |name: &str, text: &str| fs::write(data.folder.path().join(name), text).unwrap();
    write("two.geojson", &two_parcels());
    write(
        "places.csv",
        "Sample,Lat,Lon\nH1,40.701,-96.799\nH2,40.702,-96.798\nH3,40.703,-96.7985\n",
    );
    write(
        "lab.csv",
        "Field,Sample,Depth in,pH 1:1\nHome,H1,0-6,7.00\nHome,H2,0-6,7.02\nHome,H3,0-6,7.04\n",
    );
    data.run(&[
        "start",
        ".",
        "--boundary",
        "two.geojson",
        "--points",
        "places.csv",
        "--points",
        "lab.csv",
    ]);
    let checked = data.run(&["check", "plan.toml"]);
    assert_eq!(checked.code, 0, "{}{}", checked.stdout, checked.stderr);
    assert!(checked.stdout.contains("ph, water"), "{}", checked.stdout);
}
