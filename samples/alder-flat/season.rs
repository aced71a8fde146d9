//! Makes INVENTED readings of the season on Alder Flat with a known truth: stand counts, emergence, leaf-sap Brix, leaves and weather, as CSV.
//!
//!     cargo run --example season_alder_flat
//!
//! Truth: 32,000 plants an acre were wanted and planted on 28 April; the south lost a fifth of them, the rest a twentieth. Young plants
//! in the east and in the west are short of zinc, those on the knoll of the north of manganese. Brix rises by 1.5 from the first round to the third; the second was
//! read in the afternoon. Everything carries seeded noise; nothing here was measured.

#![allow(
    clippy::print_stdout,
    reason = "a script that makes some files, told from top to bottom"
)]

use std::fmt::Write as _;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Plants an acre that were wanted.
const TARGET: f64 = 32_000.0;
/// South of this latitude a fifth of the plants is missing.
const SOUTH_OF: f64 = 44.2125;
/// East of this longitude young plants are short of zinc.
const EAST_OF: f64 = -95.8690;
/// West of this one too: the ground that is short of carbon.
const WEST_OF: f64 = -95.8735;
/// North of this latitude, on the lime of the knoll, they are short of manganese.
const NORTH_OF: f64 = 44.2158;

#[allow(dead_code, reason = "the tests take the files alone")]
fn main() -> std::io::Result<()> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat");
    for (name, text) in files() {
        std::fs::write(folder.join(name), text)?;
        println!("{name} written: INVENTED");
    }
    Ok(())
}

/// The places of the cores: longitude and latitude.
fn places() -> Vec<(f64, f64)> {
    let cores = include_str!("cores.csv");
    let mut places: Vec<(f64, f64)> = cores
        .lines()
        .skip(1)
        .filter_map(|line| {
            let mut cells = line.split(',').skip(1);
            Some((cells.next()?.parse().ok()?, cells.next()?.parse().ok()?))
        })
        .collect();
    places.dedup();
    places
}

/// All files with their names.
#[must_use]
pub fn files() -> Vec<(&'static str, String)> {
    vec![
        ("stand.csv", stand()),
        ("emergence.csv", emergence()),
        ("brix.csv", brix()),
        ("leaves.csv", leaves()),
        ("weather.csv", weather()),
    ]
}

/// Noise between -1 and 1, higher in the middle.
fn noise(random: &mut ChaCha8Rng) -> f64 {
    (0..3).map(|_| random.random_range(-1.0..1.0)).sum::<f64>() / 3.0
}

/// Two counts at each place on 1/1,000 acre: 17 ft 5 in of a row at 30 in.
fn stand() -> String {
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let mut out = String::from(
        "lon,lat,date,crop,planted,target (/ac),count,row length (ft),row spacing (in),origin\n",
    );
    for (lon, lat) in places() {
        for step in 0..2 {
            let share = if lat < SOUTH_OF { 0.80 } else { 0.95 };
            let count = TARGET / 1_000.0 * share * (1.0 + 0.16 * noise(&mut random));
            let _ = writeln!(
                out,
                "{lon:.7},{:.7},2027-05-26,corn,2027-04-28,32000,{count:.0},17.42,30,invented",
                lat + 0.00002 * f64::from(step)
            );
        }
    }
    out
}

/// The day on which half the plants of a place had emerged.
fn emergence() -> String {
    let mut random = ChaCha8Rng::seed_from_u64(12);
    let mut out = String::from("lon,lat,planted,emerged on,late %,weeks late,origin\n");
    for (lon, lat) in places().into_iter().step_by(2) {
        let late = if lat < SOUTH_OF { 24.0 } else { 8.0 };
        let day = 11.0 + 2.0 * noise(&mut random) + if lat < SOUTH_OF { 2.0 } else { 0.0 };
        let late = (late + 8.0 * noise(&mut random)).max(0.0);
        let _ = writeln!(
            out,
            "{lon:.7},{lat:.7},2027-04-28,2027-05-{:02.0},{late:.0},1.5,invented",
            day.round() - 2.0
        );
    }
    out
}

/// Three rounds of the youngest full leaf on two plants at every other place.
fn brix() -> String {
    let mut random = ChaCha8Rng::seed_from_u64(13);
    let mut out = String::from("lon,lat,round,date,time,part,temp (C),brix,plant,person,origin\n");
    let rounds = [
        (1, "2027-06-10", 10.50, 6.6),
        (2, "2027-06-21", 14.60, 9.2),
        (3, "2027-07-02", 10.60, 8.1),
    ];
    for (round, date, hour, mean) in rounds {
        for (at, (lon, lat)) in places().into_iter().enumerate().step_by(2) {
            for plant in 0..2 {
                let minutes = (hour * 60.0 + 0.4 * at as f64).round();
                let brix = mean + 2.2 * noise(&mut random);
                let celsius = 17.0 + 2.0 * noise(&mut random);
                let _ = writeln!(
                    out,
                    "{lon:.7},{lat:.7},{round},{date},{:02.0}:{:02.0},leaf,{celsius:.0},{brix:.1},{at}-{plant},A,invented",
                    (minutes / 60.0).floor(),
                    minutes % 60.0
                );
            }
        }
    }
    out
}

/// Whole plants, 8 in tall, sent to the laboratory.
fn leaves() -> String {
    let mut random = ChaCha8Rng::seed_from_u64(14);
    let mut out = String::from("lon,lat,date,part,Zn ppm,Mn ppm,Mg %,B ppm,origin\n");
    for (lon, lat) in places().into_iter().step_by(2) {
        let is_short = !(WEST_OF..=EAST_OF).contains(&lon);
        let zinc = if is_short { 14.0 } else { 29.0 };
        let manganese = if lat > NORTH_OF { 15.0 } else { 48.0 };
        let _ = writeln!(
            out,
            "{lon:.7},{lat:.7},2027-05-28,whole plant,{:.0},{:.0},{:.2},{:.0},invented",
            zinc + 3.0 * noise(&mut random),
            manganese + 4.0 * noise(&mut random),
            0.24 + 0.05 * noise(&mut random),
            9.0 + 3.0 * noise(&mut random)
        );
    }
    out
}

/// The days from planting to the end of May.
fn weather() -> String {
    let mut random = ChaCha8Rng::seed_from_u64(15);
    let mut out = String::from("date,max (F),min (F),origin\n");
    for day in 0..34 {
        let (month, of_month) = if day < 3 { (4, 28 + day) } else { (5, day - 2) };
        let highest = 70.0 + 0.3 * f64::from(day) + 8.0 * noise(&mut random);
        let _ = writeln!(
            out,
            "2027-{month:02}-{of_month:02},{highest:.0},{:.0},invented",
            highest - 22.0 + 5.0 * noise(&mut random)
        );
    }
    out
}
