#![no_main]
//! The whole command in memory: a plan and the files that it names to the bytes of every result file.
//!
//! The first byte says which file of the good field the rest stands for.

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use lowstave::engine::{Grant, Watch, run_watched};
use lowstave::units::DataSize;
use lowstave::{Files, Outcome};

static GOOD: LazyLock<Vec<(&str, Vec<u8>)>> = LazyLock::new(|| {
    ["plan.toml", "boundary.geojson", "cores.csv", "cone.csv", "creek.geojson", "rules.toml"]
        .map(|name| {
            let path = format!("{}/../tests/hostile/good/{name}", env!("CARGO_MANIFEST_DIR"));
            (name, std::fs::read(path).expect("the good field"))
        })
        .into()
});

/// Little memory, so that a grid of a slipped decimal point is refused and not made.
struct Small;

impl Watch for Small {
    fn grant(&self) -> Grant {
        Grant { memory_asked: Some(DataSize::from_bytes(200e6)), ..Grant::default() }
    }
}

fuzz_target!(|bytes: &[u8]| {
    let Some((first, rest)) = bytes.split_first() else { return };
    let mut files = GOOD.clone();
    let at = usize::from(*first) % files.len();
    files[at].1 = rest.to_vec();
    match run_watched(&Files::memory(files), "plan.toml", &Small) {
        Ok(run) => drop(run.deliver().expect("what was planned is delivered")),
        Err(failure) => assert_eq!(failure.outcome(), Outcome::Refused, "{failure}"),
    }
});
