//! Plan files that cannot be used: exit code 2, every problem told, nothing written.

use crate::program::Folder;

const BAD_PLAN: &str = "\
field = \"Alder Flat\"
seasn = 2027
crop = \"corn\"
units = \"metrics\"
boundary = { file = \"boundary.geojson\" }
[[points]]
file = \"cores.csv\"
kind = \"cores\"
";

#[test]
fn a_missing_plan_is_told_with_its_path_and_a_way_out() {
    let folder = Folder::with(&[]);
    for arguments in [
        &["check", "nowhere.toml"][..],
        &["plan", "nowhere.toml", "--out", "out"],
    ] {
        let ran = folder.run(arguments);
        assert_eq!((ran.code, ran.stdout.as_str()), (2, ""));
        assert!(
            ran.stderr.contains("nowhere.toml") && ran.stderr.contains("lowstave start"),
            "{}",
            ran.stderr
        );
    }
    assert!(folder.contents().is_empty(), "nothing was written");
}

#[test]
fn every_problem_of_the_plan_is_told_with_row_key_and_the_nearest_word() {
    let folder = Folder::with(&[("plan.toml", BAD_PLAN), ("boundary.geojson", "{}")]);
    let ran = folder.run(&["plan", "plan.toml", "--out", "out"]);
    assert_eq!((ran.code, ran.stdout.as_str()), (2, ""));
    for told in [
        "row 2, key seasn",
        "did you mean \"season\"?",
        "row 4, key units",
        "did you mean \"metric\"?",
        "row 7, key points[1].file",
    ] {
        assert!(
            ran.stderr.contains(told),
            "{told} is missing in:\n{}",
            ran.stderr
        );
    }
    assert_eq!(folder.contents().len(), 2, "nothing was written");
}

#[test]
fn problems_are_json_on_stdout_where_json_is_asked_for() {
    let folder = Folder::with(&[("plan.toml", BAD_PLAN)]);
    let ran = folder.run(&["check", "plan.toml", "--json", "--quiet"]);
    assert_eq!(ran.code, 2);
    let told = ran.json();
    assert_eq!(told["outcome"], "refused");
    assert_eq!(told["exit_code"], 2);
    let problems = told["problems"].as_array().unwrap();
    assert_eq!(
        problems.len(),
        5,
        "missing season, unknown key, units, two files: {problems:?}"
    );
    assert!(
        problems
            .iter()
            .all(|problem| problem["stage"] == "plan" && problem["text"].is_string())
    );
}

#[test]
fn errors_are_told_even_when_quiet() {
    let ran = Folder::with(&[]).run(&["check", "nowhere.toml", "--quiet"]);
    assert_eq!(ran.code, 2);
    assert!(ran.stderr.contains("nowhere.toml"));
}

#[test]
fn control_characters_of_a_file_do_not_reach_the_terminal() {
    let plan = "field = \"a\\u001b[2Jb\"\nunits = \"\\u001b]0;owned\\u0007\"\n";
    let ran = Folder::with(&[("plan.toml", plan)]).run(&["check", "plan.toml"]);
    assert_eq!(ran.code, 2);
    assert!(
        !ran.stderr.contains('\u{1b}') && !ran.stderr.contains('\u{7}'),
        "{:?}",
        ran.stderr
    );
    assert!(ran.stderr.contains("\\u{1b}]0;owned"), "{}", ran.stderr);
}
