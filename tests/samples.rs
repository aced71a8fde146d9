//! The samples are what their makers say they are.

#[path = "../samples/alder-flat/generate.rs"]
mod generate;

use std::fs;
use std::path::Path;

#[test]
fn the_generator_of_alder_flat_makes_the_files_that_are_kept_byte_for_byte() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat");
    for (name, made) in generate::files() {
        let kept = fs::read_to_string(folder.join(name)).expect("the file is kept");
        assert!(made == kept, "{name} differs: run `cargo run --example generate_alder_flat` and look at the difference");
    }
}
