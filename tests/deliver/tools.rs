//! Readers and a browser that are not ours, as they are installed here or not.

use std::path::PathBuf;
use std::process::{Command, Output};

/// Set where every tool has to be there (`make test`, `.ci/run`): a test that finds none then fails instead of comparing nothing.
const REQUIRED: &str = "LOWSTAVE_REQUIRE_TOOLS";

/// What a tool printed and how it ended; `None` where it is not installed, which is said.
pub fn output_of(command: &mut Command) -> Option<Output> {
    let output = command.output();
    if output.is_err() {
        is_missing(&command.get_program().to_string_lossy());
    }
    output.ok()
}

/// Says that nothing was compared, or fails where every tool has to be there.
pub fn is_missing(tool: &str) {
    assert!(
        std::env::var_os(REQUIRED).is_none(),
        "{tool} is not installed, and {REQUIRED} is set: sh scripts/prepare.sh test"
    );
    println!("{tool} is not installed: nothing was compared (sh scripts/prepare.sh test)");
}

/// The Python that `scripts/prepare.sh test` made, with the packages of `scripts/python-test.txt`; else the one of the machine.
pub fn python() -> String {
    let ours = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("target/tools/test/bin/python");
    std::env::var("LOWSTAVE_TEST_PYTHON").unwrap_or_else(|_| {
        if ours.is_file() {
            ours.display().to_string()
        } else {
            "python3".to_owned()
        }
    })
}
