//! The files opened by GDAL's command-line tools, and the task data by the package `isoxml`, where they are installed.

use std::path::{Path, PathBuf};
use std::process::Command;

use lowstave::deliver::{DeliverOptions, TaskDataForm, prepare, write};

use super::Invented;

/// The output of a tool; `None` where it is not installed, which is said.
fn run(program: &str, arguments: &[&str]) -> Option<String> {
    let Ok(output) = Command::new(program).args(arguments).output() else {
        println!("{program} is not installed: nothing was compared");
        return None;
    };
    let text = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success(), "{program}: {text}");
    Some(text)
}

fn written(form: TaskDataForm) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    write(&prepare(&Invented::small().case(), &DeliverOptions { task_data: form }).unwrap(), &out).unwrap();
    (folder, out)
}

fn text(path: &Path) -> &str {
    path.to_str().expect("a plain path")
}

#[test]
fn gdal_finds_plane_corner_cells_and_unit_of_a_layer() {
    let (_folder, out) = written(TaskDataForm::Polygons);
    let Some(said) = run("gdalinfo", &["-stats", text(&out.join("layers/cone_index_profile-maximum_0-30.5cm.tif"))]) else { return };
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
    for file in ["prescription.geojson", "controller/shapefile/zones.shp", "controller/shapefile/starter_gal_ac.shp"] {
        let Some(said) = run("ogrinfo", &["-al", "-so", text(&out.join(file))]) else { return };
        assert!(!said.contains("Warning") && !said.contains("ERROR"), "{said}");
        assert!(said.contains("WGS 84"), "{said}");
        let kind = if file.ends_with("geojson") { "Geometry: Multi Polygon" } else { "Geometry: Polygon" };
        assert!(said.contains(kind), "{said}");
    }
}

/// The checker beside this file was written for the worked examples of this project's format notes; see `README.md`.
#[test]
fn isoxml_finds_nothing_to_complain_about() {
    let python = std::env::var("LOWSTAVE_TEST_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let has_reader = Command::new(&python).args(["-c", "import isoxml"]).output().is_ok_and(|output| output.status.success());
    if !has_reader {
        println!("{python} has no package isoxml: nothing was compared; see tests/deliver/README.md");
        return;
    }
    let checker = format!("{}/tests/deliver/check_isoxml.py", env!("CARGO_MANIFEST_DIR"));
    for form in [TaskDataForm::Polygons, TaskDataForm::Grid] {
        let (_folder, out) = written(form);
        let said = run(&python, &[&checker, text(&out.join("controller/taskdata.zip"))]).expect("python is there");
        assert!(said.starts_with("ok ") || said.contains("\nok "), "{said}");
    }
}
