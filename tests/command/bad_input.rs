//! Input that cannot be used: exit code 2 (3 for the disk), the place told, nothing written.

use std::fs;

use crate::farm::{Farm, core_rows, csv, feature, polygon};
use crate::program::Ran;

#[track_caller]
fn assert_told(ran: &Ran, code: i32, words: &[&str]) {
    assert_eq!(ran.code, code, "{}", ran.stderr);
    for word in words {
        assert!(
            ran.stderr.contains(word),
            "\"{word}\" is missing in:\n{}",
            ran.stderr
        );
    }
}

#[test]
fn the_field_that_these_tests_spoil_is_good_as_it_stands() {
    let folder = Farm::good().write();
    let ran = folder.run(&["plan", "plan.toml", "--out", "out"]);
    assert!(matches!(ran.code, 0 | 1), "{}{}", ran.stdout, ran.stderr);
    assert!(folder.path().join("out/prescription.geojson").is_file());
}

#[test]
fn a_boundary_that_is_no_polygon_is_refused() {
    let line = feature(
        r#"{"type":"LineString","coordinates":[[-96.5,41.2],[-96.495,41.2],[-96.495,41.204]]}"#,
    );
    assert_told(
        &Farm::good().boundary(line).refused(),
        2,
        &["boundary.geojson"],
    );
    let point = feature(r#"{"type":"Point","coordinates":[-96.5,41.2]}"#);
    assert_told(
        &Farm::good().boundary(point).refused(),
        2,
        &["boundary.geojson"],
    );
}

#[test]
fn a_boundary_that_crosses_itself_is_refused() {
    let bow_tie = polygon(&[(0.0, 0.0), (1.0, 1.0), (1.0, 0.0), (0.0, 1.0), (0.0, 0.0)]);
    assert_told(
        &Farm::good().boundary(bow_tie).refused(),
        2,
        &["boundary.geojson", "cross"],
    );
}

#[test]
fn an_empty_boundary_is_refused() {
    for text in [
        "",
        "{}",
        r#"{"type":"FeatureCollection","features":[]}"#,
        &feature("null"),
        &feature(r#"{"type":"Polygon","coordinates":[]}"#),
        &feature(
            r#"{"type":"Polygon","coordinates":[[[-96.5,41.2],[-96.5,41.2],[-96.5,41.2],[-96.5,41.2]]]}"#,
        ),
    ] {
        assert_told(
            &Farm::good().boundary(text).refused(),
            2,
            &["boundary.geojson"],
        );
    }
}

#[test]
fn points_that_all_lie_outside_are_refused_with_how_far() {
    let mut rows = core_rows();
    for row in rows.iter_mut().skip(1) {
        let lon: f64 = row[1].parse().unwrap();
        row[1] = format!("{:.6}", lon + 0.1);
    }
    assert_told(
        &Farm::good().cores(csv(&rows)).refused(),
        2,
        &["cores.csv", "outside"],
    );
}

#[test]
fn swapped_longitude_and_latitude_are_recognised() {
    let ran = Farm::good()
        .plan_with("x = \"lon\"\ny = \"lat\"", "x = \"lat\"\ny = \"lon\"")
        .refused();
    assert_told(&ran, 2, &["cores.csv", "swapped"]);
}

#[test]
fn a_text_where_a_number_belongs_is_refused_with_row_and_column() {
    let mut rows = core_rows();
    rows[4][3] = "acid".to_owned();
    assert_told(
        &Farm::good().cores(csv(&rows)).refused(),
        2,
        &["cores.csv, row 5, column \"pH\"", "acid"],
    );
}

#[test]
fn a_coordinate_system_that_does_not_exist_is_refused() {
    let ran = Farm::good().plan_with("EPSG:4326", "EPSG:999999").refused();
    assert_told(&ran, 2, &["EPSG:999999", "cores.csv"]);
}

#[test]
fn a_column_that_the_file_does_not_have_is_refused_with_the_nearest_one() {
    let ran = Farm::good().plan_with("\"BpH\" =", "\"Bph2\" =").refused();
    assert_told(&ran, 2, &["cores.csv", "Bph2"]);
    let ran = Farm::good()
        .plan_with("x = \"lon\"", "x = \"long\"")
        .refused();
    assert_told(&ran, 2, &["cores.csv", "\"long\"", "lon"]);
}

#[test]
fn fewer_than_three_usable_points_are_refused() {
    let rows = core_rows();
    assert_told(&Farm::good().cores(csv(&rows[..3])).refused(), 2, &["3"]);
    assert_told(
        &Farm::good().cores(csv(&rows[..1])).refused(),
        2,
        &["cores.csv"],
    );
    assert_told(&Farm::good().cores("").refused(), 2, &["cores.csv"]);
}

#[test]
fn a_cell_so_small_that_the_grid_would_not_fit_is_refused_with_the_limit() {
    let ran = Farm::good()
        .plan_with("cell = \"10 m\"", "cell = \"1 cm\"")
        .refused();
    assert_told(&ran, 2, &["grid.cell", "cells"]);
    assert!(
        ran.stderr.chars().any(|c| c.is_ascii_digit()),
        "the limit is stated: {}",
        ran.stderr
    );
}

#[test]
fn an_output_folder_that_cannot_be_made_is_a_failure_of_the_disk() {
    if cfg!(target_os = "linux") {
        assert_told(
            &Farm::good().refused_into("/proc/lowstave-out"),
            3,
            &["/proc"],
        );
    }
}

#[test]
fn a_folder_with_other_files_in_it_is_never_replaced() {
    let folder = Farm::good().write();
    fs::create_dir(folder.path().join("photos")).unwrap();
    fs::write(folder.path().join("photos/field.jpg"), "a picture").unwrap();
    let ran = folder.run(&["plan", "plan.toml", "--out", "photos"]);
    assert_told(&ran, 2, &["photos"]);
    assert_eq!(
        fs::read_to_string(folder.path().join("photos/field.jpg")).unwrap(),
        "a picture"
    );
    assert_eq!(
        folder.contents().len(),
        5,
        "nothing was added: {:?}",
        folder.contents()
    );
}

#[test]
fn a_crop_that_the_rulebook_does_not_know_is_refused_with_the_nearest_one() {
    let ran = Farm::good()
        .plan_with("crop = \"corn\"", "crop = \"cron\"")
        .refused();
    assert_told(&ran, 2, &["plan.toml, row 3, key crop", "cron", "corn"]);
}

#[test]
fn data_files_that_are_something_else_are_refused() {
    assert_told(
        &Farm::good().boundary("PK\u{3}\u{4}").refused(),
        2,
        &["boundary.geojson"],
    );
    assert_told(
        &Farm::good().cores("\u{0}\u{1}\u{2}").refused(),
        2,
        &["cores.csv"],
    );
}

#[test]
fn a_machine_that_cannot_be_is_refused_with_the_range() {
    for (from, to) in [
        ("tank = \"400 gal\"", "tank = \"1e-5 gal\""),
        ("tank = \"400 gal\"", "tank = \"1e300 gal\""),
        ("swath = \"40 ft\"", "swath = \"1e300 ft\""),
        ("speed = \"5 mph\"", "speed = \"1e-300 mph\""),
        ("cell = \"10 m\"", "cell = \"1e300 m\""),
        (
            "[grid]",
            "[[keep_out]]\nfile = \"boundary.geojson\"\ndistance = \"1e300 m\"\n[grid]",
        ),
    ] {
        let ran = Farm::good().plan_with(from, to).refused();
        assert_told(&ran, 2, &["plan.toml, row", "out of range; allowed: "]);
    }
}

#[test]
fn a_name_of_twenty_thousand_letters_is_refused() {
    let long = "n".repeat(20_000);
    for (from, to) in [
        ("\"Bluestem Forty\"", format!("\"{long}\"")),
        ("\"boundary.geojson\"", format!("\"{long}\"")),
        ("\"corn\"", format!("\"{long}\"")),
    ] {
        let ran = Farm::good().plan_with(from, &to).refused();
        assert_told(&ran, 2, &["20000 letters; write at most 1000"]);
        assert!(ran.stderr.len() < 2_000, "the name is not printed whole");
    }
    let name = "n".repeat(900);
    let ran = Farm::good()
        .plan_with("\"boundary.geojson\"", &format!("\"{name}\""))
        .refused();
    assert_told(&ran, 2, &["there is no file"]);
}

#[test]
fn what_is_no_plain_file_is_refused_wherever_a_file_is_named() {
    for (from, to) in [
        ("file = \"boundary.geojson\"", "file = \"/dev/zero\""),
        ("file = \"cores.csv\"", "file = \"/dev/zero\""),
        ("[grid]", "[rules]\nfile = \"/dev/zero\"\n[grid]"),
        ("file = \"cores.csv\"", "file = \".\""),
    ] {
        assert_told(
            &Farm::good().plan_with(from, to).refused(),
            2,
            &["plan.toml, row", "is not a file"],
        );
    }
    let folder = Farm::good().write();
    for arguments in [
        ["plan", "/dev/zero", "--out", "out"].as_slice(),
        &["check", "/dev/zero"],
        &["rulebook", "check", "/dev/zero"],
        &["rulebook", "show", "/dev/zero"],
        &[
            "start",
            "new",
            "--boundary",
            "/dev/zero",
            "--points",
            "cores.csv",
        ],
        &[
            "start",
            "new",
            "--boundary",
            "boundary.geojson",
            "--points",
            "/dev/zero",
        ],
    ] {
        let ran = folder.run(arguments);
        assert_eq!(ran.code, 2, "{arguments:?}: {}", ran.stderr);
    }
}
