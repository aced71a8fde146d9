//! A machine with little memory: what is too much is refused in words before the work, and what is then advised works.

use std::path::Path;
use std::process::Command;

/// `ulimit -v` in KiB, then the program.
fn plan_within(kib: u32, cell: &str, extra: &[&str]) -> (i32, String) {
    let folder = tempfile::tempdir().unwrap();
    let good = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/hostile/good");
    for entry in std::fs::read_dir(good).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap();
        let mut text = std::fs::read_to_string(&path).unwrap();
        if name == "plan.toml" {
            let at = text.find("cell = ").expect("the plan has a cell");
            let end = at + text[at..].find('\n').expect("a line ends");
            text.replace_range(at..end, &format!("cell = \"{cell}\""));
        }
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    let output = Command::new("sh")
        .args(["-c", &format!("ulimit -v {kib}; exec \"$0\" \"$@\"")])
        .arg(env!("CARGO_BIN_EXE_lowstave"))
        .args(["plan", "plan.toml", "--out", "out", "--threads", "1"])
        .args(extra)
        .current_dir(folder.path())
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code().unwrap_or(-1), told)
}

#[test]
fn twenty_five_million_cells_are_refused_within_two_gigabytes_and_what_is_advised_works() {
    let (code, told) = plan_within(2_000_000, "0.085 m", &[]);
    assert_eq!(code, 2, "{told}");
    for words in [
        "26 million cells",
        "of memory, more than the limit of",
        "three quarters of what is free",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
    // The same with a third of that memory; then with the cell that the message names.
    let (code, told) = plan_within(600_000, "0.085 m", &[]);
    assert_eq!(code, 2, "{told}");
    let advised = told
        .split("write cell = \"")
        .nth(1)
        .and_then(|rest| rest.split('"').next())
        .expect("a cell is advised");
    let (code, told) = plan_within(600_000, advised, &[]);
    assert!(code == 0 || code == 1, "{code}: {told}");
}

#[test]
fn memory_that_is_asked_for_beyond_what_is_free_is_refused_too() {
    let (code, told) = plan_within(600_000, "0.085 m", &["--memory", "20 GB"]);
    assert_eq!(code, 2, "{told}");
    assert!(told.contains("of memory, more than the limit of"), "{told}");
}
