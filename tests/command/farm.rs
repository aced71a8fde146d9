//! A small invented field, good as it stands; tests spoil one thing each.

use std::fs;

use crate::program::{Folder, Ran};

/// South-west corner of the field, degrees.
const WEST: f64 = -96.5;
const SOUTH: f64 = 41.2;
/// Side of the field: about 420 m east and 440 m north.
const WIDTH: f64 = 0.005;
const HEIGHT: f64 = 0.004;
/// Cores along a side.
const SIDE: usize = 6;

/// The files of the field, to be changed before they are written.
pub struct Farm {
    pub plan: String,
    pub boundary: String,
    pub cores: String,
}

impl Farm {
    pub fn good() -> Self {
        Self {
            plan: plan(),
            boundary: polygon(&[(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (0.0, 0.0)]),
            cores: cores(),
        }
    }

    /// The plan with a text in place of another.
    pub fn plan_with(mut self, from: &str, to: &str) -> Self {
        assert!(self.plan.contains(from), "the plan has \"{from}\"");
        self.plan = self.plan.replace(from, to);
        self
    }

    pub fn boundary(mut self, text: impl Into<String>) -> Self {
        self.boundary = text.into();
        self
    }

    pub fn cores(mut self, text: impl Into<String>) -> Self {
        self.cores = text.into();
        self
    }

    pub fn write(&self) -> Folder {
        Folder::with(&[
            ("plan.toml", &self.plan),
            ("boundary.geojson", &self.boundary),
            ("cores.csv", &self.cores),
        ])
    }

    /// Runs `plan` and makes sure that it was refused with nothing written.
    pub fn refused(&self) -> Ran {
        self.refused_into("out")
    }

    /// The same with another output folder.
    pub fn refused_into(&self, out: &str) -> Ran {
        let folder = self.write();
        let before = (
            folder.contents(),
            fs::read(folder.path().join("cores.csv")).unwrap(),
        );
        let ran = folder.run(&["plan", "plan.toml", "--out", out]);
        assert!(
            matches!(ran.code, 2 | 3),
            "code {}: {}{}",
            ran.code,
            ran.stdout,
            ran.stderr
        );
        assert_eq!(ran.stdout, "");
        assert!(!ran.stderr.contains("panicked"), "{}", ran.stderr);
        assert_eq!(
            (
                folder.contents(),
                fs::read(folder.path().join("cores.csv")).unwrap()
            ),
            before,
            "nothing was written"
        );
        ran
    }
}

fn plan() -> String {
    r#"field = "Bluestem Forty"
season = 2027
crop = "corn"
units = "us"
boundary = { file = "boundary.geojson" }

[[points]]
file = "cores.csv"
kind = "cores"
crs = "EPSG:4326"
x = "lon"
y = "lat"
id = "core"
depth = "0-6 in"
[points.columns]
"pH" = { is = "ph", method = "water" }
"BpH" = { is = "buffer_ph", method = "smp" }
"P" = { is = "p", method = "mehlich-3", unit = "ppm" }

[grid]
cell = "10 m"

[zones]
count = 2

[machine]
swath = "40 ft"
row_spacing = "30 in"
heading = 0
speed = "5 mph"
tank = "400 gal"
flow_per_row = ["0.03 gal/min", "0.30 gal/min"]
"#
    .to_owned()
}

/// A polygon whose corners are shares of the field's width and height.
pub fn polygon(corners: &[(f64, f64)]) -> String {
    let ring: Vec<String> = corners
        .iter()
        .map(|(x, y)| format!("[{},{}]", WEST + x * WIDTH, SOUTH + y * HEIGHT))
        .collect();
    feature(&format!(
        r#"{{"type":"Polygon","coordinates":[[{}]]}}"#,
        ring.join(",")
    ))
}

/// A feature of a geometry.
pub fn feature(geometry: &str) -> String {
    format!(
        r#"{{"type":"Feature","properties":{{"name":"Bluestem Forty"}},"geometry":{geometry}}}"#
    )
}

/// Rows of the table of cores, header first: acid in the south, poor in phosphorus in the east.
pub fn core_rows() -> Vec<[String; 6]> {
    let head = ["core", "lon", "lat", "pH", "BpH", "P"].map(str::to_owned);
    let row = |at: usize| {
        let (east, north) = (
            (at % SIDE) as f64 / SIDE as f64 + 0.08,
            (at / SIDE) as f64 / SIDE as f64 + 0.08,
        );
        [
            format!("C{:02}", at + 1),
            format!("{:.6}", WEST + east * WIDTH),
            format!("{:.6}", SOUTH + north * HEIGHT),
            format!("{:.1}", 5.2 + 1.6 * north),
            format!("{:.1}", 6.2 + 0.7 * north),
            format!("{:.0}", 45.0 - 35.0 * east),
        ]
    };
    [head]
        .into_iter()
        .chain((0..SIDE * SIDE).map(row))
        .collect()
}

/// The rows as CSV.
pub fn csv(rows: &[[String; 6]]) -> String {
    rows.iter().map(|row| row.join(",") + "\n").collect()
}

fn cores() -> String {
    csv(&core_rows())
}
