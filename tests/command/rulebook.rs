//! `lowstave rulebook`.

use crate::program::Folder;

#[test]
fn the_rulebook_is_shown_with_basis_and_source_of_each_threshold() {
    let folder = Folder::with(&[]);
    let shown = folder.run(&["rulebook", "show"]);
    assert_eq!((shown.code, shown.stderr.as_str()), (0, ""));
    assert_eq!(
        folder.run(&["rulebook"]).stdout,
        shown.stdout,
        "showing is the default"
    );

    let record = folder.run(&["rulebook", "show", "--json"]).json();
    let lines = record["lines"].as_array().unwrap();
    assert!(lines.len() > 50, "{} lines", lines.len());
    for line in lines {
        let key = line["key"].as_str().unwrap();
        assert!(shown.stdout.contains(key), "{key} is shown to people too");
        assert!(line["basis"].is_string(), "{key} has a basis");
        if line["basis"] == "published" {
            assert!(
                !line["source"].as_str().unwrap().is_empty(),
                "{key} is published and names where"
            );
        }
    }
}

#[test]
fn a_rulebook_file_is_checked_and_its_changes_are_told() {
    let record = Folder::with(&[])
        .run(&["rulebook", "show", "--json"])
        .json();
    let line = record["lines"]
        .as_array()
        .unwrap()
        .iter()
        .find(|line| line["key"].as_str().unwrap().ends_with(".threshold"))
        .unwrap()
        .clone();
    let (key, value) = (
        line["key"].as_str().unwrap(),
        line["value"].as_str().unwrap(),
    );
    let other: f64 = value.parse::<f64>().unwrap() * 1.01;
    let (table, _) = key.rsplit_once('.').unwrap();
    let folder = Folder::with(&[("mine.toml", &format!("[{table}]\nthreshold = {other:?}\n"))]);

    let checked = folder.run(&["rulebook", "check", "mine.toml"]);
    assert_eq!(checked.code, 0, "{}", checked.stderr);
    assert!(
        checked.stdout.contains(key)
            && checked.stdout.contains("row 2")
            && checked.stdout.contains(value),
        "{}",
        checked.stdout
    );
    let shown = folder.run(&["rulebook", "show", "mine.toml"]);
    assert!(
        shown.stdout.contains("changed in mine.toml, row 2"),
        "{}",
        shown.stdout
    );
}

#[test]
fn a_bad_rulebook_file_is_refused() {
    let folder = Folder::with(&[
        ("mine.toml", "[rule.no_such_rule]\nthreshold = 1.0\n"),
        ("text.toml", "not toml"),
    ]);
    for file in ["mine.toml", "text.toml", "absent.toml"] {
        let ran = folder.run(&["rulebook", "check", file]);
        assert_eq!((ran.code, ran.stdout.as_str()), (2, ""), "{file}");
        assert!(ran.stderr.contains(file), "{}", ran.stderr);
    }
}
