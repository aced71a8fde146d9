//! A field in memory becomes zones, rates and files in memory: `cargo run --example zones_and_rates`.

#![allow(clippy::print_stdout, reason = "an example prints what it found")]

use lowstave::Files;

const PLAN: &[u8] = include_bytes!("../samples/open-field/plan.toml");
const BOUNDARY: &[u8] = include_bytes!("../samples/open-field/boundary.geojson");
const CORES: &[u8] = include_bytes!("../samples/open-field/cores.csv");

fn main() -> Result<(), lowstave::Failure> {
    let files = Files::memory([
        ("plan.toml", PLAN),
        ("boundary.geojson", BOUNDARY),
        ("cores.csv", CORES),
    ]);
    let run = lowstave::run(&files, "plan.toml")?;
    for zone in &run.prescription().zones {
        println!("{}", zone.reason);
    }
    for file in run.deliver()?.files {
        println!("{:>8} bytes  {}", file.bytes.len(), file.path);
    }
    Ok(())
}
