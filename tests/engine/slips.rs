//! Slips of a plan that were passed over in silence: what the shed lacks, samples of long ago, a rate below one step of the controller.

use lowstave::engine::Run;
use lowstave::{Failure, Files};

use crate::small_field;

fn run(plan: &str) -> Result<Run, Failure> {
    let files = Files::memory([
        ("plan.toml", plan),
        ("boundary.geojson", &small_field::boundary()),
        ("cores.csv", &small_field::cores()),
    ]);
    lowstave::run(&files, "plan.toml")
}

/// The first sheet in one line.
fn sheet(run: &Run) -> String {
    let files = run.deliver().unwrap().files;
    let report = files.iter().find(|file| file.path == "report.txt").unwrap();
    let text = String::from_utf8_lossy(&report.bytes);
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What is said under a code, in one text.
fn said(run: &Run, code: &str) -> Option<String> {
    let remarks = run.remarks();
    let remark = remarks.iter().find(|remark| remark.code == code)?;
    Some(remark.what.clone())
}

#[test]
fn what_is_needed_and_not_in_the_shed_is_not_called_unneeded() {
    let run = run(&format!(
        "{}\n[shed]\nproducts = [\"gypsum\"]\n",
        small_field::PLAN
    ));
    let sheet = sheet(&run.unwrap());
    let (_, missing) = sheet.split_once("Needed, not in the shed: ").expect("said");
    let (missing, _) = missing.split_once('.').unwrap();
    assert!(missing.contains("calcitic lime"), "{missing}");
    let unneeded = sheet.split_once("Not recommended anywhere: ");
    let unneeded = unneeded.map_or("", |(_, rest)| rest.split_once('.').unwrap().0);
    assert!(!unneeded.contains("calcitic lime"), "{unneeded}");
}

#[test]
fn a_shed_from_which_nothing_may_be_used_is_refused() {
    let plan = format!("{}\n[shed]\nproducts = []\n", small_field::PLAN);
    let failure = run(&plan).unwrap_err().to_string();
    assert!(failure.contains("nothing may be used"), "{failure}");
}

#[test]
fn samples_of_long_ago_are_told_and_those_of_before_any_season_refused() {
    let sampled = |day: &str| {
        let with = format!("depth = \"0-6 in\"\nsampled = {day}\n");
        run(&small_field::PLAN.replace("depth = \"0-6 in\"\n", &with))
    };
    let old = said(&sampled("2023-10-01").unwrap(), "sampled-long-ago").expect("said");
    assert!(old.contains("1 October 2023, 4 years before"), "{old}");
    let fresh = sampled("2024-10-01").unwrap();
    assert_eq!(said(&fresh, "sampled-long-ago"), None);
    let slip = sampled("0001-01-01").unwrap_err().to_string();
    assert!(slip.contains("1950"), "{slip}");
}

#[test]
fn a_rate_below_a_step_of_the_controller_is_said_with_what_was_set() {
    let with = |product: &str, rate: &str| {
        let words = format!(
            "[[override]]\nzone = 1\nproduct = \"{product}\"\nrate = \"{rate}\"\nwhy = \"a slip\"\n"
        );
        run(&format!("{}\n{words}", small_field::PLAN)).unwrap()
    };
    for (product, rate) in [
        ("lime", "3 lb/ac"),
        ("starter", "0.04 gal/ac"),
        ("starter", "0.0001 gal/ac"),
    ] {
        let run = with(product, rate);
        let what = said(&run, "override-cut").expect("said");
        assert!(
            what.contains(rate) && what.contains("not applied"),
            "{what}"
        );
        let sheet = sheet(&run);
        assert!(
            sheet.contains(&format!("the consultant set {rate}")),
            "{sheet}"
        );
        assert!(!sheet.contains(" 0 lb/ac set by the consultant"), "{sheet}");
    }
    // Nothing that is meant as nothing is said to be cut.
    assert_eq!(said(&with("lime", "0 lb/ac"), "override-cut"), None);
}
