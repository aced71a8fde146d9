//! The files opened by GDAL's command-line tools, and the task data by the package `isoxml`, where they are installed.

use std::path::{Path, PathBuf};
use std::process::Command;

use lowstave::deliver::{DeliverOptions, TaskDataForm, prepare, write};

use super::Invented;
use super::geojson::zones;
use super::tools::{is_missing, output_of, python};

/// The output of a tool; `None` where it is not installed, which is said.
fn run(program: &str, arguments: &[&str]) -> Option<String> {
    let output = output_of(Command::new(program).args(arguments))?;
    let text = format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    assert!(output.status.success(), "{program}: {text}");
    Some(text)
}

fn written(form: TaskDataForm) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    write(
        &prepare(
            &Invented::small().case(),
            &DeliverOptions {
                task_data: form,
                ..DeliverOptions::default()
            },
        )
        .unwrap(),
        &out,
    )
    .unwrap();
    (folder, out)
}

fn text(path: &Path) -> &str {
    path.to_str().expect("a plain path")
}

#[test]
fn gdal_finds_plane_corner_cells_and_unit_of_a_layer() {
    let (_folder, out) = written(TaskDataForm::Polygons);
    let Some(said) = run(
        "gdalinfo",
        &[
            "-stats",
            text(&out.join("layers/cone_index_profile-maximum_0-30.5cm.tif")),
        ],
    ) else {
        return;
    };
    for expected in [
        "METHOD[\"Transverse Mercator\"",
        "\"Latitude of natural origin\",41.2013",
        "\"Longitude of natural origin\",-97.1176",
        "Origin = (-200.000000000000000,150.000000000000000)",
        "Pixel Size = (5.000000000000000,-5.000000000000000)",
        "NoData Value=-9999",
        "Type=Float32",
        "Unit Type: kPa",
    ] {
        assert!(said.contains(expected), "{expected} is missing in {said}");
    }
}

#[test]
fn gdal_opens_the_zones_without_a_complaint() {
    let (_folder, out) = written(TaskDataForm::Polygons);
    for file in [
        "prescription.geojson",
        "controller/shapefile/zones.shp",
        "controller/shapefile/starter_gal_ac.shp",
    ] {
        let Some(said) = run("ogrinfo", &["-al", "-so", text(&out.join(file))]) else {
            return;
        };
        assert!(
            !said.contains("Warning") && !said.contains("ERROR"),
            "{said}"
        );
        assert!(said.contains("WGS 84"), "{said}");
        let kind = if file.ends_with("geojson") {
            "Geometry: Multi Polygon"
        } else {
            "Geometry: Polygon"
        };
        assert!(said.contains(kind), "{said}");
    }
}

/// GDAL's own GeoPackage driver, and its translation back to GeoJSON.
#[test]
fn gdal_reads_the_geopackage_as_the_same_zones() {
    let (_folder, out) = written(TaskDataForm::Polygons);
    let file = out.join("maps.gpkg");
    let Some(said) = run("ogrinfo", &["-ro", "-al", "-so", text(&file)]) else {
        return;
    };
    assert!(
        !said.contains("Warning") && !said.contains("ERROR"),
        "{said}"
    );
    let layers = said.split("Layer name: ").skip(1);
    let found: Vec<String> = layers
        .map(|layer| {
            let line = |start: &str| {
                layer
                    .lines()
                    .find_map(|line| line.strip_prefix(start))
                    .unwrap_or_default()
                    .trim()
                    .to_owned()
            };
            format!(
                "{}: {}, {}",
                layer.lines().next().unwrap_or_default(),
                line("Geometry:"),
                line("Feature Count:")
            )
        })
        .collect();
    let expected = [
        "zones: Multi Polygon, 3",
        "cores: Point, 30",
        "cone_pushes: Point, 48",
        "keep_outs: Multi Polygon, 1",
        "boundary: Multi Polygon, 1",
    ];
    assert_eq!(found[..5], expected, "{said}");
    assert!(
        said.contains("WGS 84")
            && said.contains("FID Column = fid")
            && said.contains("Geometry Column = geom"),
        "{said}"
    );
    let arguments = [
        "-f",
        "GeoJSON",
        "-lco",
        "COORDINATE_PRECISION=8",
        "/vsistdout/",
        text(&file),
        "zones",
    ];
    let Some(translated) = run("ogr2ogr", &arguments) else {
        return;
    };
    let (theirs, ours) = (
        zones(&translated),
        zones(&std::fs::read_to_string(out.join("prescription.geojson")).unwrap()),
    );
    assert_eq!(theirs.len(), 3);
    for ((their_properties, their_outline), (properties, outline)) in theirs.iter().zip(&ours) {
        assert_eq!(their_outline, outline, "the same vertices, the same area");
        for (key, value) in properties {
            let (their, value) = (&their_properties[key], &super::geojson::in_one_cell(value));
            assert!(
                their == value || (value.is_number() && their.as_f64() == value.as_f64()),
                "{key}: {their}, not {value}"
            );
        }
    }
}

/// Python's own SQLite, which is not the one in the program.
#[test]
fn another_sqlite_finds_the_geopackage_whole() {
    let (_folder, out) = written(TaskDataForm::Polygons);
    let script = "import sqlite3, sys\n\
        base = sqlite3.connect('file:' + sys.argv[1] + '?mode=ro', uri=True)\n\
        print(base.execute('PRAGMA integrity_check').fetchall(), base.execute('PRAGMA foreign_key_check').fetchall())\n\
        print(base.execute('PRAGMA application_id').fetchone()[0], base.execute('PRAGMA user_version').fetchone()[0])\n\
        print(base.execute('SELECT zone, area_ac, limit_1 FROM zones').fetchall())";
    let Some(said) = run("python3", &["-c", script, text(&out.join("maps.gpkg"))]) else {
        return;
    };
    let lines: Vec<&str> = said.lines().collect();
    // 1196444487 is "GPKG".
    assert_eq!(lines[..2], ["[('ok',)] []", "1196444487 10301"], "{said}");
    let map = zones(&std::fs::read_to_string(out.join("prescription.geojson")).unwrap());
    for (properties, _) in map {
        let limit = properties["limit_1"]
            .as_str()
            .map_or_else(|| "None".to_owned(), |limit| format!("'{limit}'"));
        let row = format!(
            "({}, {}, {limit})",
            properties["zone"], properties["area_ac"]
        );
        assert!(lines[2].contains(&row), "{row} is missing in {said}");
    }
}

/// The checker beside this file was written for the worked examples of this project's format notes; see `README.md`.
#[test]
fn isoxml_finds_nothing_to_complain_about() {
    for form in [TaskDataForm::Polygons, TaskDataForm::Grid] {
        let (_folder, out) = written(form);
        isoxml_takes(&out.join("controller/taskdata.zip"));
    }
}

/// Holds that `isoxml` reads a package without a complaint; nothing where it is not installed, which is said.
pub fn isoxml_takes(package: &Path) {
    let python = python();
    let has_reader = Command::new(&python)
        .args(["-c", "import isoxml"])
        .output()
        .is_ok_and(|output| output.status.success());
    if !has_reader {
        is_missing(&format!("the package isoxml for {python}"));
        return;
    }
    let checker = format!(
        "{}/tests/deliver/check_isoxml.py",
        env!("CARGO_MANIFEST_DIR")
    );
    let said = run(&python, &[&checker, text(package)]).expect("python is there");
    assert!(said.starts_with("ok ") || said.contains("\nok "), "{said}");
}
