//! CPU time of a whole field, from named bytes to rates and without files, and of its stages; on one thread. Prints the count of zones
//! and what was tried too, so that two versions can be compared. Give it folders of fields that hold a `plan.toml`:
//!
//!     cargo run --release --example choice_cost -- FOLDER...
#![allow(
    clippy::print_stdout,
    clippy::panic,
    clippy::expect_used,
    reason = "a study prints its result and stops at anything unexpected"
)]

use std::path::Path;

use lowstave::Files;
use lowstave::choice::Trial;
use lowstave::engine::{self, Unwatched};
use lowstave::field::Field;
use lowstave::plan::{Purpose, Settings};
use lowstave::surface::{Surfaces, interpolate};
use lowstave::zones::{Zones, delineate_tried};
use lowstave::{diagnosis, rates};

fn main() {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build();
    pool.expect("one thread").install(measure);
}

fn measure() {
    println!("field\tread\tmaps\ttrial\tzones\twhole\tcount\tsaved\ttried");
    let mut sums = [0.0; 5];
    let folders: Vec<String> = std::env::args().skip(1).collect();
    for folder in &folders {
        let (milliseconds, words) = of_field(folder);
        let shown: Vec<String> = milliseconds.iter().map(|ms| format!("{ms:.1}")).collect();
        let name = Path::new(folder).file_name().unwrap_or_default();
        println!("{}\t{}\t{words}", name.display(), shown.join("\t"));
        for (sum, ms) in sums.iter_mut().zip(milliseconds) {
            *sum += ms;
        }
    }
    let means: Vec<String> = sums
        .iter()
        .map(|sum| format!("{:.1}", sum / folders.len() as f64))
        .collect();
    println!("mean\t{}", means.join("\t"));
}

/// Milliseconds of reading, maps, trial, zones and the whole; then the decision.
fn of_field(folder: &str) -> ([f64; 5], String) {
    let files = Files::folder(folder);
    let plan = Path::new("plan.toml");
    let (read, inputs) = timed(|| engine::read(&files, plan, Purpose::Rates, &Unwatched));
    let inputs = inputs.expect("a sound field");
    let (field, settings) = (&inputs.field, &inputs.settings);
    let (maps, surfaces) = timed(|| interpolate(field, &settings.surface));
    let surfaces = surfaces.expect("maps");
    let carry = |settings: &Settings, field: &Field, surfaces: &Surfaces, zones: &Zones| {
        let rulebook = &inputs.rulebook;
        let found = diagnosis::diagnose_without_words(settings, field, surfaces, zones, rulebook)
            .map_err(|errors| format!("{errors:?}"))?;
        let rates =
            rates::prescribe_without_words(settings, field, surfaces, zones, &found, rulebook)
                .map_err(|errors| format!("{errors:?}"))?;
        Ok::<_, String>((found, rates))
    };
    let (tried, trial) =
        timed(|| Trial::new((field, &surfaces), None, settings, &inputs.rulebook, &carry));
    let trial = trial.expect("a trial");
    let (counted, parts) = (trial.settings(settings), trial.parts());
    let (zoned, zones) = timed(|| delineate_tried(field, &surfaces, &counted, &parts));
    zones.expect("zones");
    let (whole, run) = timed(|| lowstave::run(&files, plan));
    let run = run.expect("a run");
    let row = |row: &lowstave::choice::CountTried| {
        format!("{}:{:.2}/{:.2}", row.count, row.loss, row.stability)
    };
    let rows: Vec<String> = run.worth().tried.iter().map(row).collect();
    let saved = run.worth().saved.map_or_else(
        || "-".to_owned(),
        |saved| saved.show(lowstave::units::UnitSystem::UnitedStates),
    );
    let words = format!("{}\t{saved}\t{}", run.zones().zones.len(), rows.join(" "));
    ([read, maps, tried, zoned, whole], words)
}

/// Milliseconds that the thread was on a processor, and what was made.
fn timed<T>(work: impl FnOnce() -> T) -> (f64, T) {
    let start = nanoseconds();
    let made = work();
    ((nanoseconds() - start) / 1e6, made)
}

/// As Linux counts it: other programs on the machine do not count.
fn nanoseconds() -> f64 {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    told.split_whitespace()
        .next()
        .and_then(|number| number.parse().ok())
        .unwrap_or(0.0)
}
