//! The first page where money or the consultant changes what the soil asks for.

use std::path::Path;

use crate::program::run_in;

/// The report of the sample with its plan changed, and what the terminal says.
fn alder_flat(change: impl Fn(String) -> String) -> (String, String) {
    let folder = tempfile::tempdir().unwrap();
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat");
    for entry in std::fs::read_dir(sample).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            std::fs::copy(&path, folder.path().join(path.file_name().unwrap())).unwrap();
        }
    }
    let plan = folder.path().join("plan.toml");
    std::fs::write(&plan, change(std::fs::read_to_string(&plan).unwrap())).unwrap();
    let ran = run_in(folder.path(), &["plan", "plan.toml", "--out", "out"]);
    assert!(ran.code <= 1, "{}", ran.stderr);
    let report = std::fs::read_to_string(folder.path().join("out/report.txt")).unwrap();
    (report, ran.stdout)
}

/// Between two headings of the report.
fn chapter<'a>(report: &'a str, heading: &str) -> &'a str {
    let from = report
        .split(&format!("{heading}\n="))
        .nth(1)
        .unwrap_or_default();
    from.split("\n\n").next().unwrap_or_default()
}

#[test]
fn what_the_budget_cuts_is_said_where_it_hurts() {
    let (report, stdout) =
        alder_flat(|plan| plan.replace("limit = \"60 USD/ac\"", "limit = \"3 USD/ac\""));
    let first = chapter(&report, "DO FIRST");
    assert!(
        first.contains("Not paid for by this budget, but needed first"),
        "{first}"
    );
    for words in ["Needed, not paid for by the budget: ", "Not paid for: Zone"] {
        assert!(report.contains(words), "{words}: {report}");
    }
    assert!(
        stdout.contains("needed, not paid for by the budget: "),
        "{stdout}"
    );
    // A need that is not paid for is never "not recommended".
    let unused = stdout
        .split("not recommended anywhere: ")
        .nth(1)
        .unwrap_or_default();
    let unused = unused.split("money:").next().unwrap_or_default();
    assert!(!unused.contains("gypsum"), "{stdout}");
}

#[test]
fn a_forced_rate_stands_first_among_the_warnings_and_with_its_reason() {
    let word = "\n[[override]]\nzone = 1\nproduct = \"starter\"\nrate = \"12 gal/ac\"\nforce = true\nwhy = \"tried by the neighbour\"\n";
    let (report, _) = alder_flat(|plan| plan + word);
    let warnings = chapter(&report, "BEFORE YOU DRIVE");
    let first = warnings.split("\n! ").nth(1).unwrap_or_default();
    assert!(first.contains("is forced to 12 gal/ac"), "{warnings}");
    let plain = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        plain.contains("12.0 gal/ac set by the consultant: tried by the neighbour"),
        "{report}"
    );
}
