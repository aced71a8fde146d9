//! How fast a large table is read. Ignored by default: the number means something in a release build only.

use std::fmt::Write as _;
use std::fs;
use std::time::Instant;

use lowstave::plan::PointKind;

/// A million readings along passes, six columns of numbers: about 53 MB.
fn million_rows() -> String {
    let mut text = String::from("id,lon,lat,ph,om_pct,ca_ppm,eca_ms_m\n");
    for n in 0..1_000_000_u32 {
        let wave = f64::from(n % 7919) / 7919.0;
        let _ = writeln!(
            text,
            "{n},{:.7},{:.7},{:.2},{:.2},{:.1},{:.3}",
            -97.13 + f64::from(n % 1000) * 1e-5,
            41.2 + f64::from(n / 1000) * 1e-5,
            5.5 + wave * 2.0,
            1.0 + wave * 4.0,
            900.0 + wave * 2000.0,
            10.0 + wave * 40.0
        );
    }
    text
}

#[test]
#[ignore = "prints the speed of reading a million rows; run with --release --ignored --nocapture"]
fn a_million_rows_are_read_at_speed() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = million_rows();
    fs::write(folder.path().join("sensor.csv"), &text).expect("the table");
    let square = r#"{"type":"Polygon","coordinates":[[[-97.13,41.20],[-97.12,41.20],[-97.12,41.21],[-97.13,41.21],[-97.13,41.20]]]}"#;
    fs::write(folder.path().join("boundary.geojson"), square).expect("the boundary");
    let plan = "field = \"Invented\"\nseason = 2027\ncrop = \"corn\"\nboundary = { file = \"boundary.geojson\" }\n[[points]]\nfile = \"sensor.csv\"\nkind = \"readings\"\ncrs = \"EPSG:4326\"\nx = \"lon\"\ny = \"lat\"\n";
    fs::write(folder.path().join("plan.toml"), plan).expect("the plan");
    let files = lowstave::Files::folder(folder.path());
    let (settings, _) =
        lowstave::plan::read(&files, std::path::Path::new("plan.toml")).expect("a plan");
    assert_eq!(settings.points[0].kind, PointKind::Readings);
    let mut best = f64::INFINITY;
    for _ in 0..5 {
        let start = Instant::now();
        let survey = lowstave::intake::read(&files, &settings, 7.3)
            .unwrap_or_else(|errors| panic!("{errors:?}"));
        best = best.min(start.elapsed().as_secs_f64());
        assert_eq!(
            (survey.tables[0].x.len(), survey.tables[0].layers.len()),
            (1_000_000, 5)
        );
    }
    println!(
        "{:.1} MB in {best:.3} s: {:.0} MB/s",
        text.len() as f64 / 1e6,
        text.len() as f64 / 1e6 / best
    );
}
