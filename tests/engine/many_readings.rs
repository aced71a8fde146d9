//! A sensor's table of many readings: the season's record keeps as many as a later season needs, and that season reads it. Invented.

use std::fmt::Write as _;

use lowstave::Files;

const READINGS: usize = 50_000;

fn plan(season: u16, past: &str) -> String {
    format!(
        r#"
field    = "Many readings (invented)"
season   = {season}
crop     = "corn"
units    = "us"
boundary = {{ file = "b.geojson" }}
[grid]
cell = "20 m"
[[points]]
file  = "cores.csv"
kind  = "cores"
crs   = "EPSG:4326"
x     = "x"
y     = "y"
depth = "0-6 in"
  [points.columns]
  ph = {{ is = "ph", method = "water" }}
[[points]]
file  = "readings.csv"
kind  = "readings"
crs   = "EPSG:4326"
x     = "x"
y     = "y"
  [points.columns]
  eca = {{ is = "covariate:eca" }}
{past}"#
    )
}

fn files(season: u16, past: &str) -> Vec<(String, Vec<u8>)> {
    let boundary = "{\"type\":\"Polygon\",\"coordinates\":[[[-93.6,42.0],[-93.594,42.0],[-93.594,42.004],[-93.6,42.004],[-93.6,42.0]]]}";
    let mut cores = "x,y,ph\n".to_owned();
    for i in 0..30 {
        let (x, y) = (f64::from(i % 6), f64::from(i / 6));
        let (x, y) = (-93.6 + (x + 0.5) * 0.001, 42.0 + (y + 0.5) * 0.0008);
        writeln!(cores, "{x:.7},{y:.7},{}", 6.0 + f64::from(i % 7) / 10.0).unwrap();
    }
    let mut readings = "x,y,eca\n".to_owned();
    for i in 0..READINGS {
        let (x, y) = ((i % 250) as f64, (i / 250) as f64);
        let (x, y) = (-93.6 + (x + 0.5) * 2.4e-5, 42.0 + (y + 0.5) * 2.0e-5);
        writeln!(
            readings,
            "{x:.7},{y:.7},{:.2}",
            20.0 + (i % 101) as f64 / 10.0
        )
        .unwrap();
    }
    vec![
        ("b.geojson".to_owned(), boundary.as_bytes().to_vec()),
        ("cores.csv".to_owned(), cores.into_bytes()),
        ("readings.csv".to_owned(), readings.into_bytes()),
        ("plan.toml".to_owned(), plan(season, past).into_bytes()),
    ]
}

#[test]
fn one_in_so_many_is_kept_for_the_next_season_which_reads_it() {
    let first = lowstave::run(&Files::memory(files(2027, "")), "plan.toml").unwrap();
    let delivery = first.deliver().unwrap();
    let season = delivery
        .files
        .iter()
        .find(|file| file.path == "season.json")
        .unwrap();
    let record: serde_json::Value = serde_json::from_slice(&season.bytes).unwrap();
    let table = |name: &str| {
        let mut tables = record["tables"].as_array().unwrap().iter();
        tables.find(|table| table["file"] == name).unwrap()
    };
    let readings = table("readings.csv");
    assert_eq!(readings["one_in"], 3);
    let places = readings["places"].as_array().unwrap();
    assert_eq!(places.len(), READINGS.div_ceil(3));
    assert_eq!(
        readings["layers"][0]["values"].as_array().unwrap().len(),
        places.len()
    );
    // Which of three rows is kept changes, so that what alternates in the rows is kept in equal parts; place and value are of one row.
    let mut kept = [0; 3];
    for (lot, (place, value)) in places
        .iter()
        .zip(readings["layers"][0]["values"].as_array().unwrap())
        .enumerate()
    {
        let column = ((place[0].as_f64().unwrap() + 93.6) / 2.4e-5 - 0.5).round() as usize;
        let row = ((place[1].as_f64().unwrap() - 42.0) / 2.0e-5 - 0.5).round() as usize;
        let at = row * 250 + column;
        assert_eq!(at / 3, lot);
        kept[at % 3] += 1;
        let wanted = 20.0 + (at % 101) as f64 / 10.0;
        assert!((value.as_f64().unwrap() - wanted).abs() < 1e-6);
    }
    assert!(kept.iter().all(|count| *count > READINGS / 10), "{kept:?}");
    assert!(table("cores.csv").get("one_in").is_none());

    let mut next = files(2028, "[past]\nruns = [\"before\"]\n");
    for file in &delivery.files {
        next.push((format!("before/{}", file.path), file.bytes.clone()));
    }
    let second = lowstave::run(&Files::memory(next), "plan.toml").unwrap();
    assert!(second.since_last_time().is_some());
}
