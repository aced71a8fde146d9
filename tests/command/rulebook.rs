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

/// Ontario corn, Olsen: 70 kg/ha of P2O5 at 9 ppm, 20 at 14, none at 31 (Ontario Grain Farmer). Tri-state from memory: 103 lb at 12 ppm and 180 bu.
#[test]
fn a_growers_own_numbers_test_a_regions_tables() {
    let ontario = |test: &str, gives: &str| {
        format!(
            "[worked.mine]\nrate = \"ontario_phosphate_corn\"\ntest = {test}\ngives = {gives}\n"
        )
    };
    for (test, gives) in [("9", "70"), ("14", "20"), ("31", "0")] {
        let folder = Folder::with(&[("mine.toml", &ontario(test, gives))]);
        let checked = folder.run(&["rulebook", "check", "mine.toml", "--region", "ontario"]);
        assert_eq!(checked.code, 0, "{}", checked.stderr);
        assert!(
            checked
                .stdout
                .contains("worked values that the tables give too: 1"),
            "{}",
            checked.stdout
        );
        assert!(
            checked.stdout.contains("changes nothing"),
            "{}",
            checked.stdout
        );
    }
    let folder = Folder::with(&[("mine.toml", &ontario("9", "60"))]);
    let wrong = folder.run(&["rulebook", "check", "mine.toml", "--region", "ontario"]);
    assert_eq!(wrong.code, 2);
    assert!(
        wrong.stderr.contains("row 4") && wrong.stderr.contains("gives 70 here, not 60"),
        "{}",
        wrong.stderr
    );
    // Without the region there is no such row.
    let folder = Folder::with(&[("mine.toml", &ontario("9", "70"))]);
    let elsewhere = folder.run(&["rulebook", "check", "mine.toml"]);
    assert!(
        elsewhere.code == 2 && elsewhere.stderr.contains("ontario_phosphate_corn"),
        "{}",
        elsewhere.stderr
    );
    let tri_state = |more: &str| {
        format!("[worked.mine]\nrate = \"tri_state_phosphate\"\ntest = 12\ngives = 103\n{more}")
    };
    let folder = Folder::with(&[
        ("mine.toml", &tri_state("yield = 180\n")),
        ("short.toml", &tri_state("")),
    ]);
    let checked = folder.run(&["rulebook", "check", "mine.toml", "--region", "tri-state"]);
    assert_eq!(checked.code, 0, "{}", checked.stderr);
    let short = folder.run(&["rulebook", "check", "short.toml", "--region", "tri-state"]);
    assert!(
        short.code == 2 && short.stderr.contains("write yield = "),
        "{}",
        short.stderr
    );
}
