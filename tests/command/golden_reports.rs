//! The reports of the samples, word for word. They were read line by line as a grower would; a change of any threshold,
//! rate or sentence shows here. After a change that is meant: `INSTA_UPDATE=always cargo test --test command golden`,
//! then read the difference.

use std::fs;
use std::path::Path;

use crate::program::run_in;

fn report(plan: &str) -> String {
    let out = tempfile::tempdir().unwrap();
    let folder = out.path().join("out");
    let ran = run_in(
        Path::new(env!("CARGO_MANIFEST_DIR")),
        &["plan", plan, "--out", folder.to_str().unwrap(), "--quiet"],
    );
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    fs::read_to_string(folder.join("report.txt")).unwrap()
}

#[test]
fn the_report_of_alder_flat_is_the_one_that_was_read() {
    insta::assert_snapshot!("alder_flat", report("samples/alder-flat/plan.toml"));
}

#[test]
fn the_metric_report_of_alder_flat_is_the_one_that_was_read() {
    insta::assert_snapshot!(
        "alder_flat_metric",
        report("samples/alder-flat/plan-metric.toml")
    );
}

#[test]
fn the_report_of_the_open_field_is_the_one_that_was_read() {
    insta::assert_snapshot!("open_field", report("samples/open-field/plan.toml"));
}
