//! A field on both sides of the 180th meridian, cut there in its file as RFC 7946 (3.1.9) wants it, beside the same field 170 degrees
//! further west. Both are invented.

use std::collections::BTreeMap;

use lowstave::Files;
use serde_json::Value;

const PLAN: &str = r#"
field    = "Meridian"
season   = 2027
crop     = "corn"
units    = "metric"
boundary = { file = "boundary.geojson" }
[[keep_out]]
file     = "creek.geojson"
distance = "10 m"
why      = "setback from the creek"
[[points]]
file  = "cores.csv"
kind  = "cores"
crs   = "EPSG:4326"
depth = "0-6 in"
[zones]
count = 2
layers = ["p"]
[strips]
products = ["starter"]
[machine]
swath = "12 m"
"#;

/// West and east end of a field, degrees from the meridian: most of it on the one side, or on the other.
const FIELDS: [(f64, f64); 2] = [(-0.004, 0.003), (-0.003, 0.004)];
const LATITUDES: (f64, f64) = (-16.804, -16.8);

/// A longitude from -180 to 180.
fn turned(longitude: f64) -> f64 {
    if longitude > 180.0 {
        longitude - 360.0
    } else {
        longitude
    }
}

fn field(ends: (f64, f64), middle: f64, is_cut: bool) -> Vec<(String, Vec<u8>)> {
    let ring = |west: f64, east: f64| {
        let (south, north) = LATITUDES;
        format!(
            "[[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]]]"
        )
    };
    let (west, east) = (middle + ends.0, middle + ends.1);
    let boundary = if is_cut {
        format!(
            "{{\"type\":\"MultiPolygon\",\"coordinates\":[{},{}]}}",
            ring(west, 180.0),
            ring(-180.0, east - 360.0)
        )
    } else {
        format!(
            "{{\"type\":\"Polygon\",\"coordinates\":{}}}",
            ring(west, east)
        )
    };
    let creek = format!(
        "{{\"type\":\"LineString\",\"coordinates\":[[{},{}],[{},{}]]}}",
        turned(middle + 0.002),
        LATITUDES.0,
        turned(middle + 0.0022),
        LATITUDES.1
    );
    let mut cores = String::from("id,lon,lat,pH (water),P Mehlich-3 ppm\n");
    for row in 0..8 {
        for column in 0..9 {
            let lon = middle + ends.0 + (ends.1 - ends.0) * (f64::from(column) + 0.5) / 9.0;
            let lat = LATITUDES.0 + (LATITUDES.1 - LATITUDES.0) * (f64::from(row) + 0.5) / 8.0;
            let phosphorus = 6 + 4 * column + (row * 3) % 4;
            cores += &format!(
                "A{row}{column},{:.7},{lat:.7},6.6,{phosphorus}\n",
                turned(lon)
            );
        }
    }
    [
        ("plan.toml", PLAN.to_owned()),
        ("boundary.geojson", boundary),
        ("creek.geojson", creek),
        ("cores.csv", cores),
    ]
    .map(|(name, text)| (name.to_owned(), text.into_bytes()))
    .into()
}

fn results(files: Vec<(String, Vec<u8>)>) -> BTreeMap<String, Vec<u8>> {
    let run = lowstave::run(&Files::memory(files), "plan.toml");
    let run = run.unwrap_or_else(|failure| panic!("{failure}"));
    let delivery = run.deliver().unwrap_or_else(|failure| panic!("{failure}"));
    delivery
        .files
        .into_iter()
        .map(|file| (file.path, file.bytes))
        .collect()
}

fn json(files: &BTreeMap<String, Vec<u8>>, name: &str) -> Value {
    serde_json::from_slice(&files[name]).unwrap()
}

/// Least and greatest longitude of each ring.
fn spans(collection: &Value) -> Vec<(f64, f64)> {
    let list = |value: &Value| value.as_array().unwrap().clone();
    let mut spans = Vec::new();
    for feature in list(&collection["features"]) {
        for polygon in list(&feature["geometry"]["coordinates"]) {
            for ring in list(&polygon) {
                let longitudes: Vec<f64> = list(&ring)
                    .iter()
                    .map(|place| place[0].as_f64().unwrap())
                    .collect();
                let pick =
                    |best: fn(f64, f64) -> f64| longitudes.iter().copied().reduce(best).unwrap();
                spans.push((pick(f64::min), pick(f64::max)));
            }
        }
    }
    spans
}

#[test]
fn a_field_cut_at_180_degrees_is_planned_as_the_same_field_elsewhere() {
    FIELDS.into_iter().for_each(is_planned_alike);
}

fn is_planned_alike(field_ends: (f64, f64)) {
    let across = results(field(field_ends, 180.0, true));
    let elsewhere = results(field(field_ends, 10.0, false));
    let text = |files: &BTreeMap<String, Vec<u8>>, name: &str| {
        String::from_utf8(files[name].clone()).unwrap()
    };
    for name in ["report.txt", "mix.txt", "mix.csv"] {
        assert_eq!(text(&across, name), text(&elsewhere, name), "{name}");
    }
    let (here, there) = (
        json(&across, "prescription.geojson"),
        json(&elsewhere, "prescription.geojson"),
    );
    let properties = |collection: &Value| -> Vec<Value> {
        let features = collection["features"].as_array().unwrap();
        features
            .iter()
            .map(|feature| feature["properties"].clone())
            .collect()
    };
    assert_eq!(properties(&here), properties(&there));
    assert!(properties(&here).len() >= 4, "zones and strips");
    // Nothing runs round the globe, and nothing lies beyond 180.
    let spans = spans(&here);
    assert!(
        spans
            .iter()
            .all(|(west, east)| east - west < 0.01 && *west >= -180.0 && *east <= 180.0),
        "{spans:?}"
    );
    assert!(spans.iter().any(|(west, _)| *west < 0.0) && spans.iter().any(|(west, _)| *west > 0.0));
    // West is greater than east in the box (RFC 7946, 5.2).
    let ends = |at: usize| here["bbox"][at].as_f64().unwrap();
    let wanted = (180.0 + field_ends.0, field_ends.1 - 180.0);
    assert!(
        (ends(0) - wanted.0).abs() < 1e-6 && (ends(2) - wanted.1).abs() < 1e-6,
        "{}",
        here["bbox"]
    );
}
