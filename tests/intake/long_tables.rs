//! Files long enough to be read in pieces side by side: rows keep their numbers, and a cell that runs over lines is never cut.

use std::fmt::Write as _;
use std::path::PathBuf;

use lowstave::analyte::Analyte;
use lowstave::intake::{PointTable, ReadingRules, points_from_bytes};
use lowstave::plan::{BelowDetection, ColumnMeaning, Depths, PointKind, PointsSettings};
use lowstave::provenance::Place;

const ROWS: usize = 40_000;

fn read(text: &str) -> Result<PointTable, String> {
    let place = Place::file("plan.toml");
    let meaning = ColumnMeaning {
        analyte: Analyte::Covariate("height".into()),
        method: None,
        unit: None,
        depth: None,
        sure: false,
        numbers: lowstave::plan::NumberForm::default(),
        place: place.clone(),
    };
    let settings = PointsSettings {
        file: PathBuf::from("made.csv"),
        kind: PointKind::Readings,
        crs: Some("EPSG:4326".into()),
        x: Some("lon".into()),
        y: Some("lat".into()),
        id: Some("name".into()),
        depths: Depths::Unknown,
        columns: vec![("height".into(), meaning)],
        ignore: vec!["note".into()],
        leave_out: Vec::new(),
        reading: lowstave::plan::FileForm::default(),
        cone: None,
        laboratory: None,
        sampled: None,
        place,
    };
    let rules = ReadingRules {
        below_detection: BelowDetection::Half,
        bulk_density: None,
        crop: "corn".into(),
        season: None,
        units: lowstave::units::UnitSystem::Metric,
    };
    let all = |errors: Vec<_>| {
        errors
            .iter()
            .map(|error: &lowstave::intake::IntakeError| error.to_string())
            .collect::<Vec<_>>()
            .join("\n")
    };
    points_from_bytes(text.as_bytes(), &settings, &rules)
        .map(|(table, _)| table)
        .map_err(all)
}

/// A row per index; `note` and `height` write its last two cells.
fn table(note: impl Fn(usize) -> String, height: impl Fn(usize) -> String) -> String {
    let mut text = String::from("name,lon,lat,note,height\n");
    for i in 0..ROWS {
        let _ = writeln!(text, "S{i},-97.{i:06},41.{i:06},{},{}", note(i), height(i));
    }
    assert!(text.len() > 1 << 20, "long enough to be read in pieces");
    text
}

fn heights(table: &PointTable) -> &[f64] {
    &table.layers[0].values
}

#[test]
fn every_row_keeps_its_number_its_name_and_its_value() {
    let read = read(&table(|_| "a plain note".into(), |i| format!("{i}.5"))).expect("a table");
    assert!(read.row.iter().copied().eq(2..ROWS as u32 + 2));
    assert!(
        read.id
            .as_ref()
            .expect("names")
            .iter()
            .enumerate()
            .all(|(i, name)| **name == *format!("S{i}"))
    );
    assert!(
        heights(&read)
            .iter()
            .enumerate()
            .all(|(i, height)| *height == i as f64 + 0.5)
    );
}

#[test]
fn a_quoted_cell_may_run_over_lines_wherever_the_file_is_cut() {
    // With a line break in every row, every other place to cut lies inside a cell.
    let read = read(&table(
        |_| "\"two, lines\nof a \"\"note\"\"\"".into(),
        |i| format!("{i}.5"),
    ))
    .expect("a table");
    assert_eq!(read.x.len(), ROWS);
    assert!(
        read.row
            .iter()
            .enumerate()
            .all(|(i, row)| *row == 2 * i as u32 + 2)
    );
    assert!(
        heights(&read)
            .iter()
            .enumerate()
            .all(|(i, height)| *height == i as f64 + 0.5)
    );
}

#[test]
fn one_cell_over_many_lines_is_one_cell() {
    let lines = "a line of a very long note\n".repeat(40_000);
    let read = read(&table(
        |i| {
            if i == 7 {
                format!("\"{lines}\"")
            } else {
                "-".into()
            }
        },
        |i| i.to_string(),
    ))
    .expect("a table");
    assert_eq!(read.x.len(), ROWS);
    assert_eq!((read.row[7], read.row[8]), (9, 40_010));
}

#[test]
fn what_is_wrong_far_down_is_told_with_its_row() {
    let wrong = |i: usize| {
        if i % 10_000 == 9_999 {
            "tall".into()
        } else {
            i.to_string()
        }
    };
    let errors = read(&table(|_| "a plain note".into(), wrong)).expect_err("no numbers");
    let rows: Vec<bool> = [10_001, 20_001, 30_001, 40_001]
        .iter()
        .map(|row| errors.contains(&format!("row {row}")))
        .collect();
    assert_eq!(rows, [true; 4], "{errors}");
}

#[test]
fn a_quote_that_is_never_closed_is_an_error_with_its_row() {
    let errors = read(&table(
        |i| {
            if i == 20_000 {
                "\"open".into()
            } else {
                "-".into()
            }
        },
        |i| i.to_string(),
    ))
    .expect_err("an open quote");
    assert!(
        errors.contains("row 20002") && errors.contains("never closed"),
        "{errors}"
    );
}

#[test]
fn a_decimal_comma_far_down_is_found_and_all_rows_are_read_by_it() {
    let height = |i: usize| {
        if i == 30_000 {
            "\"30000,25\"".into()
        } else {
            i.to_string()
        }
    };
    let read = read(&table(|_| "a plain note".into(), height)).expect("a table");
    assert_eq!(heights(&read)[30_000], 30_000.25);
    assert_eq!(heights(&read)[29_999], 29_999.0);
}
