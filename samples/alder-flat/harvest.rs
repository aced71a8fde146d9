//! Makes an INVENTED harvest of Alder Flat with a known truth, for the strips of a finished run: the records of a yield monitor, as CSV.
//!
//!     cargo run --example harvest_alder_flat -- harvest.csv
//!
//! Truth: leaving the starter out costs 9 bu/ac wherever the zone gets it; where low carbon holds it back, trying it brings nothing.
//! The ground varies smoothly, each pass of the combine carries an error of its own along its whole length, and each record is noisy.

#![allow(
    clippy::print_stdout,
    clippy::missing_errors_doc,
    clippy::too_many_lines,
    reason = "a script that makes one file, told from top to bottom"
)]

use std::fmt::Write as _;

use lowstave::Files;
use lowstave::trial::StripSet;
use lowstave::trial::layout::{Rings, passes_over};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Loss where the starter is left out, bu/ac.
const LOSS: f64 = 9.0;
/// Seconds and metres from record to record.
const SECONDS: f64 = 1.5;
const STEP: f64 = 2.7;

#[allow(dead_code, reason = "the tests take the harvest alone")]
fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let out = arguments.next().unwrap_or_else(|| "harvest.csv".to_owned());
    let plan = arguments.next().unwrap_or_else(|| "plan.toml".to_owned());
    std::fs::write(&out, harvest(&plan)?)?;
    println!("{out} written: an INVENTED harvest");
    Ok(())
}

/// The records as CSV, for the strips that a plan of the sample lays.
pub fn harvest(plan: &str) -> Result<String, Box<dyn std::error::Error>> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/samples/alder-flat");
    let run = lowstave::run(&Files::folder(folder), plan)?;
    let Some(first) = run.strips().sets.first() else {
        return Err("the plan lays no strips".into());
    };
    let machines = first.machines;
    let area = &run.field().workable;
    // The combine drives its own passes, a header wide; one lies on the middle of every strip.
    let width = machines.header_m;
    let (left, _) = passes_over(area, machines.frame.heading, machines.frame.swath_m);
    let passes = (0..400).map(|pass| left + (f64::from(pass) + 0.5) * width);
    let middles: Vec<f64> = run
        .strips()
        .sets
        .iter()
        .flat_map(|set| {
            set.draw
                .checks
                .iter()
                .map(|check| set.machines.middle(check.position))
        })
        .collect();
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let mut lines =
        String::from("lon,lat,time_s,Flow (lb/s),Moisture %,Distance (ft),Width (ft)\n");
    let mut time = 0.0;
    for (number, across) in passes.enumerate() {
        let nearest = middles
            .iter()
            .copied()
            .min_by(|a, b| (a - across).abs().total_cmp(&(b - across).abs()));
        // Near a strip the driver steers onto its middle.
        let across = match nearest {
            Some(middle)
                if (-0.5 * width - 1e-6..0.5 * width - 1e-6).contains(&(middle - across)) =>
            {
                middle
            }
            _ => across,
        };
        let of_pass = 3.0 * (random.random::<f64>() - 0.5);
        for (from, to) in Rings::new(area, &machines.frame).inside(across) {
            let steps = ((to - from) / STEP) as usize;
            time += 60.0;
            for step in 0..steps {
                let forth = if number % 2 == 0 {
                    step
                } else {
                    steps - 1 - step
                };
                let along = from + (forth as f64 + 0.5) * STEP;
                let (x, y) = machines.frame.place(along, across);
                let ground = 168.0 + 14.0 * (x / 190.0).sin() + 10.0 * (y / 240.0).cos();
                let strip = run
                    .strips()
                    .sets
                    .iter()
                    .find(|set| is_on(set, along, across));
                let loss = match strip {
                    Some(set) if !set.gets_more => LOSS,
                    _ => 0.0,
                };
                let noise = 12.0 * (random.random::<f64>() + random.random::<f64>() - 1.0);
                let bushels = ground + of_pass + noise - loss;
                let moisture = 17.0 + random.random::<f64>();
                // Bushels at 15.5 % become pounds a second of wet grain over the ground of a record.
                let acres = STEP * width / 4_046.856_422_4;
                let flow = bushels * 56.0 * (100.0 - 15.5) / (100.0 - moisture) * acres / SECONDS;
                time += SECONDS;
                let mut place = [(x, y)];
                run.field().crs.unproject(&mut place)?;
                writeln!(
                    lines,
                    "{:.7},{:.7},{time:.1},{flow:.2},{moisture:.1},{:.2},{:.1}",
                    place[0].0,
                    place[0].1,
                    STEP / 0.3048,
                    width / 0.3048
                )?;
            }
        }
    }
    Ok(lines)
}

fn is_on(set: &StripSet, along: f64, across: f64) -> bool {
    set.draw.checks.iter().any(|check| {
        (set.machines.middle(check.position) - across).abs() < 1.0
            && check
                .pieces
                .iter()
                .any(|piece| along >= piece.from_m && along <= piece.to_m)
    })
}
