//! How long it takes; run with `--release -- --ignored --nocapture speed`.

use std::time::Instant;

use lowstave::deliver::{DeliverOptions, prepare, write};
use lowstave::units::UnitSystem;

use super::Invented;

#[test]
#[ignore = "a measurement, not a check"]
fn four_layers_on_164_thousand_cells() {
    let invented = Invented::sized(2.4, 2.0, UnitSystem::UnitedStates);
    println!("{} cells", invented.field.grid.cells.len());
    let folder = tempfile::tempdir().unwrap();
    for turn in 0..6 {
        let start = Instant::now();
        let delivery = prepare(&invented.case(), &DeliverOptions::default()).unwrap();
        let prepared = start.elapsed();
        let start = Instant::now();
        write(&delivery, &folder.path().join(format!("new{turn}"))).unwrap();
        let written = start.elapsed();
        let bytes: usize = delivery.files.iter().map(|file| file.bytes.len()).sum();
        println!(
            "prepared {prepared:?}, written {written:?}, {} files, {bytes} bytes",
            delivery.files.len()
        );
    }
}
