//! How long it takes; run with `--release -- --ignored --nocapture speed`.

use std::time::{Duration, Instant};

use lowstave::deliver::{DeliverOptions, prepare, write};
use lowstave::units::UnitSystem;

use super::Invented;

/// A release build takes half a second; this holds for a debug build on a busy machine too.
const LONGEST: Duration = Duration::from_secs(30);

#[test]
#[ignore = "a measurement: seconds mean something in a release build only"]
fn four_layers_on_164_thousand_cells() {
    let invented = Invented::sized(2.4, 2.0, UnitSystem::UnitedStates);
    println!("{} cells", invented.field.grid.cells.len());
    let folder = tempfile::tempdir().unwrap();
    let mut first = 0;
    for turn in 0..6 {
        let start = Instant::now();
        let delivery = prepare(&invented.case(), &DeliverOptions::default()).unwrap();
        let prepared = start.elapsed();
        let start = Instant::now();
        write(&delivery, &folder.path().join(format!("new{turn}"))).unwrap();
        let written = start.elapsed();
        let bytes: usize = delivery.files.iter().map(|file| file.bytes.len()).sum();
        if turn == 0 {
            first = bytes;
        }
        assert_eq!(bytes, first, "each turn writes the same");
        assert!(prepared + written < LONGEST, "{prepared:?} and {written:?}");
        println!(
            "prepared {prepared:?}, written {written:?}, {} files, {bytes} bytes",
            delivery.files.len()
        );
    }
}
