//! An invented field of some hectares, small enough to be run hundreds of times.

use std::path::Path;

/// Side of the field and distance of the cores, degrees of latitude and of longitude.
const SIDE: f64 = 0.004;
const CORES: usize = 5;

pub const PLAN: &str = r#"# An invented field for a test.
field    = "Small Field"       # its name
season   = 2027
crop     = "corn"
units    = "us"
boundary = { file = "boundary.geojson" }

[[points]]
file = "cores.csv"
kind = "cores"
crs  = "EPSG:4326"
x    = "lon"
y    = "lat"
id   = "core"
depth = "0-6 in"

  [points.columns]
  "pH"     = { is = "ph", method = "water" }        # in water
  "BpH"    = { is = "buffer_ph", method = "smp" }
  "P ppm"  = { is = "p", method = "mehlich-3", unit = "ppm" }
  "K ppm"  = { is = "k", method = "ammonium-acetate", unit = "ppm" }

[grid]
cell = "30 m"

[zones]
count    = 3                   # as the grower asked
smallest = "0.5 ac"

[machine]
swath = "40 ft"                # the planter's
row_spacing = "30 in"
heading = 0
speed = "5 mph"
tank = "400 gal"
flow_per_row = ["0.03 gal/min", "0.30 gal/min"]

[prices]
lime = "32 USD/ton"

[budget]
limit = "60 USD/ac"
"#;

pub fn boundary() -> String {
    let (west, south) = (-95.88, 44.21);
    let (east, north) = (west + SIDE, south + SIDE);
    format!(
        r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{}},"geometry":{{"type":"Polygon","coordinates":[[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]]]}}}}]}}"#
    )
}

pub fn cores() -> String {
    let mut text = String::from("core,lon,lat,pH,BpH,P ppm,K ppm\n");
    for at in 0..CORES * CORES {
        let (column, row) = (at % CORES, at / CORES);
        let share = |place: usize| (place as f64 + 0.5) / CORES as f64 * SIDE;
        let (lon, lat) = (-95.88 + share(column), 44.21 + share(row));
        // Sour in the west, short of phosphorus in the south, with a little scatter.
        let scatter = ((at * 7) % 5) as f64 / 10.0;
        let ph = 5.0 + 0.35 * column as f64 + 0.3 * scatter;
        let buffer = 6.2 + 0.13 * column as f64;
        let p = 8.0 + 7.0 * row as f64 + 5.0 * scatter;
        let k = 120.0 + 12.0 * (column + row) as f64;
        text += &format!(
            "C{},{lon:.6},{lat:.6},{ph:.2},{buffer:.2},{p:.1},{k:.0}\n",
            at + 1
        );
    }
    text
}

/// Writes the field's files; with its plan.
pub fn write(folder: &Path) {
    write_files(folder);
    std::fs::write(folder.join("plan.toml"), PLAN).unwrap();
}

/// Writes the field's files, and no plan.
pub fn write_files(folder: &Path) {
    std::fs::write(folder.join("boundary.geojson"), boundary()).unwrap();
    std::fs::write(folder.join("cores.csv"), cores()).unwrap();
}
