//! The whole command in memory, on the files of a good field with random damage: any answer is right but a fault of the program, a
//! hang, or a number that is none in the files that come out. `LOWSTAVE_DAMAGED` says how many fields; a fuzz target does the
//! same with a compiler's feedback (`fuzz/fuzz_targets/whole_run.rs`).

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};

use lowstave::engine::{Grant, Watch, run_watched};
use lowstave::units::DataSize;
use lowstave::{Files, Outcome};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use rayon::prelude::*;

/// How many damaged fields unless said otherwise.
const FIELDS: u64 = 160;
/// Longest that one may take; the good field takes a fifth of a second.
const LONGEST: Duration = Duration::from_secs(30);
/// What people slip in by hand.
const SLIPS: [&str; 24] = [
    "0", "-", "1e9", "nan", "\"", ",", ";", ".", "\n", "[", "]", "{", "}", "=", "#", "ft", "m",
    "%", "<", "-96.5", "41.2", "7", "null", "\u{fffd}",
];

/// Little memory, so that a grid of a slipped decimal point is refused and not made.
struct Small;

impl Watch for Small {
    fn grant(&self) -> Grant {
        Grant {
            memory_asked: Some(DataSize::from_bytes(300e6)),
            ..Grant::default()
        }
    }
}

fn good() -> Vec<(String, Vec<u8>)> {
    let mut files: Vec<(String, Vec<u8>)> = fs::read_dir("tests/hostile/good")
        .unwrap()
        .map(|entry| {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            (name, fs::read(path).unwrap())
        })
        .collect();
    files.sort();
    files
}

fn below(random: &mut ChaCha8Rng, limit: usize) -> usize {
    (random.next_u64() % limit.max(1) as u64) as usize
}

/// One to three slips in one file, most of them where a number stands.
fn damage(bytes: &mut Vec<u8>, random: &mut ChaCha8Rng) {
    for _ in 0..=below(random, 3) {
        let digits: Vec<usize> = (0..bytes.len())
            .filter(|&at| bytes[at].is_ascii_digit())
            .collect();
        let at = match digits.as_slice() {
            [] => below(random, bytes.len() + 1),
            some if below(random, 4) > 0 => some[below(random, some.len())],
            _ => below(random, bytes.len() + 1),
        };
        let slip = SLIPS[below(random, SLIPS.len())].as_bytes();
        let end = (at + below(random, 3)).min(bytes.len());
        match below(random, 8) {
            0 => bytes.truncate(at),
            1 => drop(bytes.drain(at..(at + below(random, 80)).min(bytes.len()))),
            _ => drop(bytes.splice(at..end, slip.iter().copied())),
        }
    }
}

/// What is wrong with the answer to a damaged field; nothing where all is right.
fn fault(seed: u64) -> Option<String> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut files = good();
    for _ in 0..=below(&mut random, 2) {
        let at = below(&mut random, files.len());
        damage(&mut files[at].1, &mut random);
    }
    let start = Instant::now();
    let answer = catch_unwind(AssertUnwindSafe(|| answer(files)));
    let wrong = match answer {
        Ok(Ok(())) => None,
        Ok(Err(wrong)) => Some(wrong),
        Err(_) => Some("it panicked".to_owned()),
    };
    let is_slow = start.elapsed() > LONGEST;
    wrong
        .or_else(|| is_slow.then(|| format!("it took {:?}", start.elapsed())))
        .map(|wrong| format!("field {seed}: {wrong}"))
}

fn answer(files: Vec<(String, Vec<u8>)>) -> Result<(), String> {
    let run = match run_watched(&Files::memory(files), "plan.toml", &Small) {
        Ok(run) => run,
        Err(failure) if failure.outcome() == Outcome::Refused => return Ok(()),
        Err(failure) => return Err(failure.to_string()),
    };
    let delivery = run.deliver().map_err(|failure| failure.to_string())?;
    let map = delivery.get("prescription.geojson").unwrap_or_default();
    let map: serde_json::Value =
        serde_json::from_slice(map).map_err(|error| format!("prescription.geojson: {error}"))?;
    for zone in map["features"].as_array().into_iter().flatten() {
        for (key, value) in zone["properties"].as_object().into_iter().flatten() {
            let is_below_nothing = value
                .as_f64()
                .is_some_and(|number| number.is_nan() || number < 0.0);
            if is_below_nothing {
                return Err(format!("{key} is {value}"));
            }
        }
    }
    Ok(())
}

#[test]
fn a_damaged_field_is_refused_or_done_and_never_a_fault() {
    let count = std::env::var("LOWSTAVE_DAMAGED")
        .ok()
        .and_then(|count| count.parse().ok())
        .unwrap_or(FIELDS);
    let faults: Vec<String> = (0..count).into_par_iter().filter_map(fault).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn the_good_field_is_done() {
    assert!(run_watched(&Files::memory(good()), "plan.toml", &Small).is_ok());
    assert_eq!(answer(good()), Ok(()));
}
