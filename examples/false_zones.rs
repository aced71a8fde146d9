//! How often a field that holds nothing but noise gets more than one zone: invented fields of 40 ha with 15 to 120 cores and eight
//! layers about their thresholds, from named bytes to the decision. "By the choosing cores" is what the saving on the cores that chose
//! the count would have decided. First seed and fields a size may be given:
//!
//!     cargo run --release --example false_zones -- 5000 400
#![allow(
    clippy::print_stdout,
    clippy::panic,
    clippy::expect_used,
    reason = "a study prints its result and stops at anything unexpected"
)]

use std::path::Path;

use lowstave::Files;
use lowstave::choice::{CountTried, Trial, within_one_standard_error};
use lowstave::engine::{self, Unwatched};
use lowstave::field::Field;
use lowstave::plan::{FixedOrAuto, Purpose, Settings};
use lowstave::rulebook::Rulebook;
use lowstave::surface::{Map, Surfaces, interpolate};
use lowstave::zones::Zones;
use lowstave::{diagnosis, rates};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

const PLAN: &str = r#"
field    = "Noise (invented)"
season   = 2027
crop     = "corn"
units    = "us"
boundary = { file = "boundary.geojson" }
[grid]
cell = "10 m"
[[points]]
file = "cores.csv"
kind = "cores"
crs  = "EPSG:4326"
x    = "lon"
y    = "lat"
id   = "core"
top        = "from_in"
bottom     = "to_in"
depth_unit = "in"
  [points.columns]
  "pH"     = { is = "ph", method = "water" }
  "BpH"    = { is = "buffer_ph", method = "smp" }
  "P ppm"  = { is = "p", method = "mehlich-3", unit = "ppm" }
  "K ppm"  = { is = "k", method = "ammonium-acetate", unit = "ppm" }
  "Ca ppm" = { is = "ca", method = "ammonium-acetate", unit = "ppm" }
  "Mg ppm" = { is = "mg", method = "ammonium-acetate", unit = "ppm" }
  "S ppm"  = { is = "s", method = "mehlich-3", unit = "ppm" }
  "Zn ppm" = { is = "zn", method = "dtpa", unit = "ppm" }
"#;

/// Mean and standard deviation of the columns.
const LAYERS: [(f64, f64); 8] = [
    (6.0, 0.4),
    (6.6, 0.2),
    (22.0, 8.0),
    (130.0, 35.0),
    (1400.0, 250.0),
    (140.0, 40.0),
    (9.0, 3.0),
    (0.9, 0.3),
];

/// A side of the field and of its degrees.
const SIDE_M: f64 = 632.5;
const WEST: f64 = -95.0;
const SOUTH: f64 = 41.0;

fn main() {
    let mut numbers = std::env::args()
        .skip(1)
        .map(|n| n.parse().expect("a number"));
    let (first, fields) = (
        numbers.next().unwrap_or(5_000),
        numbers.next().unwrap_or(400),
    );
    println!(
        "Seeds {first} to {}; per cent of the fields.",
        first + fields - 1
    );
    println!("| cores | fields | with a map | zones, by the choosing cores | zones |");
    println!("|---|---|---|---|---|");
    for cores in [15, 30, 60, 120] {
        let seeds: Vec<u64> = (first..first + fields).collect();
        let found: Vec<(bool, bool, bool)> = seeds
            .into_par_iter()
            .map(|seed| decided(cores, seed))
            .collect();
        let percent = |of: fn(&(bool, bool, bool)) -> bool| {
            100.0 * found.iter().filter(|found| of(found)).count() as f64 / found.len() as f64
        };
        println!(
            "| {cores} | {fields} | {:.1} | {:.1} | {:.1} |",
            percent(|f| f.0),
            percent(|f| f.1),
            percent(|f| f.2)
        );
    }
}

/// Whether the field gets a map, more than one zone by the choosing cores alone, and more than one zone.
fn decided(cores: usize, seed: u64) -> (bool, bool, bool) {
    let files = noise(cores, seed);
    let inputs = engine::read(&files, Path::new("plan.toml"), Purpose::Rates, &Unwatched);
    let inputs = inputs.expect("a sound field");
    let (field, settings) = (&inputs.field, &inputs.settings);
    let surfaces = interpolate(field, &settings.surface).expect("maps");
    let is_drawn = |map: &Map| matches!(map, Map::Drawn { .. });
    if !surfaces
        .surfaces
        .iter()
        .any(|surface| is_drawn(&surface.map))
    {
        return (false, false, false);
    }
    let carry = |settings: &Settings, field: &Field, surfaces: &Surfaces, zones: &Zones| {
        let rulebook = &inputs.rulebook;
        let found = diagnosis::diagnose_without_words(settings, field, surfaces, zones, rulebook)
            .map_err(|errors| format!("{errors:?}"))?;
        let rates =
            rates::prescribe_without_words(settings, field, surfaces, zones, &found, rulebook)
                .map_err(|errors| format!("{errors:?}"))?;
        Ok::<_, String>((found, rates))
    };
    let trial =
        Trial::new((field, &surfaces), None, settings, &inputs.rulebook, &carry).expect("a trial");
    let count = trial.settings(settings).zones.count;
    (
        true,
        by_choosing_cores(trial.tried(), &inputs.rulebook),
        count != FixedOrAuto::Fixed(1),
    )
}

/// The decision by the saving on the cores that chose the count.
fn by_choosing_cores(tried: &[CountTried], rulebook: &Rulebook) -> bool {
    let stable: Vec<&CountTried> = tried.iter().filter(|row| row.is_stable).collect();
    let losses: Vec<f64> = stable.iter().map(|row| row.loss).collect();
    let Some(best) = stable.iter().min_by(|a, b| a.loss.total_cmp(&b.loss)) else {
        return false;
    };
    let error = best.saved.standard_error.dollars_per_hectare();
    within_one_standard_error(&losses, &vec![error; losses.len()]).is_some_and(|at| {
        let saved = &stable[at].saved;
        let sure = saved.mean.dollars_per_hectare() - saved.standard_error.dollars_per_hectare();
        stable[at].count > 1 && sure > rulebook.numbers.cost_of_a_map.dollars_per_hectare()
    })
}

/// Cores on a jittered grid, every value drawn by itself.
fn noise(cores: usize, seed: u64) -> Files {
    let mut random = ChaCha8Rng::seed_from_u64(seed * 1_000 + cores as u64);
    let latitude = SIDE_M / 111_132.0;
    let longitude = latitude / SOUTH.to_radians().cos();
    let (east, north) = (WEST + longitude, SOUTH + latitude);
    let boundary = format!(
        r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{"origin":"invented"}},"geometry":{{"type":"Polygon","coordinates":[[[{WEST},{SOUTH}],[{east},{SOUTH}],[{east},{north}],[{WEST},{north}],[{WEST},{SOUTH}]]]}}}}]}}"#
    );
    let across = (cores as f64).sqrt().ceil() as usize;
    let down = cores.div_ceil(across);
    let mut table =
        "core,lon,lat,from_in,to_in,pH,BpH,P ppm,K ppm,Ca ppm,Mg ppm,S ppm,Zn ppm\n".to_owned();
    for core in 0..cores {
        let mut place =
            |at: usize, of: usize| (at as f64 + 0.5 + random.random_range(-0.35..0.35)) / of as f64;
        let (x, y) = (place(core % across, across), place(core / across, down));
        let (lon, lat) = (WEST + x * longitude, SOUTH + y * latitude);
        table += &format!("C{core},{lon:.7},{lat:.7},0,6");
        for (mean, deviation) in LAYERS {
            let value = (mean + deviation * normal(&mut random)).max(0.1 * mean);
            table += &format!(",{value:.2}");
        }
        table.push('\n');
    }
    Files::memory([
        ("plan.toml", PLAN.as_bytes()),
        ("boundary.geojson", boundary.as_bytes()),
        ("cores.csv", table.as_bytes()),
    ])
}

fn normal(random: &mut ChaCha8Rng) -> f64 {
    let (u, v): (f64, f64) = (
        random.random_range(1e-12..1.0),
        random.random_range(0.0..1.0),
    );
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}
