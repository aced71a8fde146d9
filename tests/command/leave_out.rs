//! Samples that a plan leaves out.

use std::fs;
use std::path::Path;

use crate::program::{Folder, Ran};

/// `check` of the invented sample with something in its first table of points.
fn check(entry: &str) -> Ran {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat");
    let folder = Folder::with(&[]);
    for file in fs::read_dir(sample).unwrap().flatten() {
        fs::copy(file.path(), folder.path().join(file.file_name())).unwrap();
    }
    let plan = folder.path().join("plan.toml");
    let text = fs::read_to_string(&plan).unwrap();
    let changed = text.replacen(
        "ignore     = [\"origin\"]",
        &format!("ignore     = [\"origin\"]\n{entry}"),
        1,
    );
    assert!(changed != text, "the sample has changed");
    fs::write(&plan, changed).unwrap();
    folder.run(&["check", "plan.toml", "--json"])
}

/// How many results of pH there are at a depth.
fn count(ran: &Ran, depth: &str) -> u64 {
    let checked = ran.json();
    let layers = checked["layers"].as_array().unwrap();
    let is_ph = |layer: &&serde_json::Value| layer["analyte"] == "ph" && layer["depth"] == depth;
    layers.iter().find(is_ph).unwrap()["n"].as_u64().unwrap()
}

fn says(ran: &Ran, code: &str, word: &str) -> bool {
    let checked = ran.json();
    let mut remarks = checked["remarks"].as_array().unwrap().iter();
    remarks.any(|remark| remark["code"] == code && remark["what"].as_str().unwrap().contains(word))
}

#[test]
fn a_core_that_is_left_out_counts_nowhere_and_its_reason_is_told() {
    let whole = check("");
    let without = check("leave_out = [{ core = \"AF03\", why = \"pulled in a spoil heap\" }]");
    for depth in ["0-2 in", "0-6 in"] {
        let before = count(&whole, depth);
        // A core may have been cut at one of the depths only.
        assert!(count(&without, depth) >= before - 1, "{depth}");
    }
    let lost = |depth| count(&whole, depth) - count(&without, depth);
    assert!(lost("0-2 in") + lost("0-6 in") >= 1);
    assert!(
        says(&without, "left-out", "pulled in a spoil heap"),
        "{}",
        without.stdout
    );
}

#[test]
fn a_row_may_be_left_out_alone() {
    let (whole, without) = (
        check(""),
        check("leave_out = [{ row = 2, why = \"mixed up\" }]"),
    );
    let lost = |depth| count(&whole, depth) - count(&without, depth);
    assert_eq!(lost("0-2 in") + lost("0-6 in"), 1);
}

#[test]
fn a_name_that_is_not_there_wants_the_eye_and_a_half_entry_is_refused() {
    let missing = check("leave_out = [{ core = \"XX99\", why = \"a slip\" }]");
    assert_eq!(missing.code, 1, "{}", missing.stderr);
    assert!(
        says(&missing, "left-out-not-found", "XX99"),
        "{}",
        missing.stdout
    );
    for (entry, word) in [
        ("leave_out = [{ core = \"AF03\" }]", "why"),
        ("leave_out = [{ why = \"no name\" }]", "core"),
        (
            "leave_out = [{ core = \"AF03\", row = 3, why = \"both\" }]",
            "its row",
        ),
        ("leave_out = [{ name = \"AF03\", why = \"x\" }]", "name"),
        ("leave_out = \"AF03\"", "leave_out"),
    ] {
        let ran = check(entry);
        assert_eq!(ran.code, 2, "{entry}: {}", ran.stdout);
        assert!(ran.stdout.contains(word), "{entry}: {}", ran.stdout);
    }
}
