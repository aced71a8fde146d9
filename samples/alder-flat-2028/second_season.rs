//! Makes the files of the invented field's second season, 2028, with a known truth: what changed since 2027 and what did not.
//!
//! Nothing here was measured. The ground is that of `../alder-flat/generate.rs`; the cores stand elsewhere, the laboratory drifts a little, and
//! the weather moves each test. Truth:
//!
//! - the lime of 2027 was spread and did nothing (it was far too coarse);
//! - compost brought 70 ppm potassium to the sandy bench in the east;
//! - the hard layer in the north was loosened and stayed loose: a fifth of it is left;
//! - nothing else changed.
//!
//! ```text
//! cargo run --example second_season_alder_flat       writes beside this file
//! ```
#![allow(clippy::print_stdout, dead_code, missing_docs)]

use std::fmt::Write as _;
use std::path::Path;
use std::{fs, io};

#[path = "../alder-flat/generate.rs"]
pub mod generate;

use generate::{
    Analysis, CONE_DEPTHS_IN, Chance, FieldShape, Point, Soil, Trouble, round_to, to_degrees, walk,
    write_analysis,
};

const SEED: u64 = 20_271_012;
/// What a season's laboratory and weather do to each test: standard deviations, as the analyte catalogue has them.
const PH_DRIFT: f64 = 0.112;

/// What changed since the season before.
#[derive(Debug, Clone, Copy, Default)]
pub struct Truth {
    /// Rise of pH where lime was spread.
    pub ph_where_limed: f64,
    /// Rise of potassium on the sandy bench, ppm.
    pub potash_on_the_bench: f64,
    /// Share of the hard layer in the north that was loosened.
    pub loosened: f64,
    /// Rise of pH everywhere.
    pub ph: f64,
    /// Rise of potassium everywhere, ppm.
    pub potash: f64,
}

/// The truth of the sample.
pub const SAMPLE: Truth = Truth {
    ph_where_limed: 0.0,
    potash_on_the_bench: 70.0,
    loosened: 0.8,
    ph: 0.0,
    potash: 0.0,
};

fn main() -> io::Result<()> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat-2028");
    for (name, text) in files() {
        fs::write(folder.join(name), text)?;
        println!("samples/alder-flat-2028/{name}");
    }
    Ok(())
}

/// All files, name and text.
#[must_use]
pub fn files() -> Vec<(&'static str, String)> {
    let (cores, cone) = season(SEED, SAMPLE);
    vec![
        ("cores.csv", cores),
        ("cone.csv", cone),
        ("lime-applied-2027.csv", log_csv()),
    ]
}

/// Cores and pushes of one season.
#[must_use]
pub fn season(seed: u64, truth: Truth) -> (String, String) {
    let field = FieldShape::new();
    (
        cores_csv(&field, seed, truth),
        cone_csv(&field, seed, truth),
    )
}

/// What laboratory and weather of one season do: added to pH, and factors of the others.
struct Drift {
    ph: f64,
    p: f64,
    k: f64,
    ca: f64,
    mg: f64,
    na: f64,
    ratio: f64,
    sulfur: f64,
    boron: f64,
    zinc: f64,
    ec: f64,
    humus: f64,
    cone: f64,
}

impl Drift {
    fn new(seed: u64) -> Self {
        let mut chance = Chance::seeded(seed, 90);
        let mut factor = |percent: f64| (1.0 + percent / 100.0 * chance.normal()).max(0.5);
        // Laboratory and time of sampling of the catalogue, one beside the other: the root of the sum of squares.
        let (p, k, ca, mg) = (factor(10.0), factor(10.0), factor(7.1), factor(7.1));
        let (na, ratio, sulfur) = (factor(12.8), factor(12.2), factor(18.0));
        let (boron, zinc, ec, humus) = (factor(14.1), factor(11.3), factor(20.9), factor(7.1));
        let cone = factor(11.2);
        Self {
            ph: PH_DRIFT * chance.normal(),
            p,
            k,
            ca,
            mg,
            na,
            ratio,
            sulfur,
            boron,
            zinc,
            ec,
            humus,
            cone,
        }
    }
}

/// Where the lime of 2027 was spread.
fn is_limed(p: Point) -> bool {
    Trouble::at(p).acid > 0.25
}

fn changed(row: &mut Analysis, p: Point, truth: Truth, drift: &Drift) {
    let trouble = Trouble::at(p);
    let limed = if is_limed(p) {
        truth.ph_where_limed
    } else {
        0.0
    };
    let rise = limed + truth.ph;
    let before = row.ph;
    row.ph = round_to((row.ph + rise + drift.ph).clamp(4.5, 8.5), 0.1);
    row.buffer_ph = row
        .buffer_ph
        .filter(|_| row.ph < 7.0)
        .map(|buffer| round_to((buffer + 0.3 * (row.ph - before)).min(7.0), 0.01));
    let acidity = row
        .buffer_ph
        .map_or(0.0, |buffer| (12.0 * (7.0 - buffer)).max(0.0));
    row.k += truth.potash + truth.potash_on_the_bench * trouble.sandy;
    row.p *= drift.p;
    row.k = round_to(row.k * drift.k, 1.0);
    row.ca = round_to(row.ca * drift.ca, 10.0);
    row.mg = round_to(row.mg * drift.mg, 1.0);
    row.na = round_to(row.na * drift.na, 1.0);
    row.organic_matter *= drift.humus;
    row.ec *= drift.ec;
    row.water_extract = row
        .water_extract
        .map(|(carbon, nitrogen)| (carbon, nitrogen / drift.ratio));
    row.sulfur_boron_zinc = row
        .sulfur_boron_zinc
        .map(|(s, b, zn)| (s * drift.sulfur, b * drift.boron, zn * drift.zinc));
    row.cec = row.ca / 200.0 + row.mg / 120.0 + row.k / 390.0 + row.na / 230.0 + acidity;
}

fn cores_csv(field: &FieldShape, seed: u64, truth: Truth) -> String {
    let (soil, drift) = (Soil::new(), Drift::new(seed));
    let (mut places, mut chance) = (Chance::seeded(seed, 1), Chance::seeded(seed, 2));
    let mut text = String::from(
        "core,lon,lat,from_in,to_in,pH,BpH,OM %,WEOC ppm,WEON ppm,P ppm,K ppm,Ca ppm,Mg ppm,Na ppm,S ppm,B ppm,Zn ppm,EC dS/m,CEC meq/100g,origin\n",
    );
    for (at, p) in walk(field, 95.0, 17.0, 14.0, &mut places)
        .into_iter()
        .enumerate()
    {
        let Point(lon, lat) = to_degrees(p);
        for is_surface in [true, false] {
            let mut row = soil.analysis(p, is_surface, &mut chance);
            changed(&mut row, p, truth, &drift);
            let depth = if is_surface { "0,2" } else { "0,6" };
            let _ = write!(text, "AF{:02},{lon:.7},{lat:.7},{depth},", at + 1);
            write_analysis(&mut text, &row, at);
        }
    }
    text
}

fn cone_csv(field: &FieldShape, seed: u64, truth: Truth) -> String {
    let (soil, drift) = (Soil::new(), Drift::new(seed));
    let (mut places, mut chance) = (Chance::seeded(seed, 3), Chance::seeded(seed, 4));
    // The hard layer, as the ground's maker lays it, psi at each mark.
    let pan = [35.0, 75.0, 205.0, 255.0, 85.0, 25.0, 10.0];
    let marks: Vec<String> = CONE_DEPTHS_IN
        .iter()
        .map(|depth| format!("d{depth}"))
        .collect();
    let mut text = format!("push,lon,lat,{},note,origin\n", marks.join(","));
    for (at, p) in walk(field, 61.5, 12.0, 9.0, &mut places)
        .into_iter()
        .enumerate()
    {
        let Point(lon, lat) = to_degrees(p);
        let readings = soil.push(p, &mut chance);
        let lane = Trouble::at(p).lane;
        let cells = readings.iter().zip(pan).map(|(reading, pan)| {
            let left = (reading - truth.loosened * pan * lane).max(20.0);
            format!("{:.0}", round_to(left * drift.cone, 5.0))
        });
        let cells: Vec<String> = cells.collect();
        let _ = writeln!(
            text,
            "C{:03},{lon:.7},{lat:.7},{},,invented",
            at + 1,
            cells.join(",")
        );
    }
    text
}

/// The spreader's log of the lime of 2027: a record every 20 m on the limed ground, a little off the rate that was ordered.
fn log_csv() -> String {
    let field = FieldShape::new();
    let mut chance = Chance::seeded(SEED, 5);
    let mut text = String::from("lon,lat,Rate applied (lb/ac),origin\n");
    for pass in 0..75 {
        for step in 0..42 {
            let p = Point(
                -450.0 + 12.0 * f64::from(pass),
                -420.0 + 20.0 * f64::from(step),
            );
            if field.contains(p) && is_limed(p) {
                let Point(lon, lat) = to_degrees(p);
                let rate = round_to(1_960.0 + 60.0 * chance.normal(), 1.0);
                let _ = writeln!(text, "{lon:.7},{lat:.7},{rate:.0},invented");
            }
        }
    }
    text
}
