//! Places for further cores.

use std::fs;

use crate::farm::Farm;

#[test]
fn more_cores_are_written_for_a_phone_and_for_a_receiver() {
    let folder = Farm::good().write();
    let ran = folder.run(&["cores", "plan.toml", "--add", "5", "--out", "sites"]);
    assert_eq!(ran.code, 0, "{}", ran.stderr);
    let collection: geojson::FeatureCollection =
        fs::read_to_string(folder.path().join("sites/sites.geojson"))
            .unwrap()
            .parse()
            .unwrap();
    assert_eq!(collection.features.len(), 5);
    let gpx = fs::read_to_string(folder.path().join("sites/sites.gpx")).unwrap();
    assert_eq!(gpx.matches("<wpt ").count(), 5);
    assert!(ran.stdout.contains("shrinks the uncertainty"), "{}", ran.stdout);
}

#[test]
fn an_earlier_proposal_is_not_replaced_unless_asked() {
    let folder = Farm::good().write();
    assert_eq!(
        folder
            .run(&["cores", "plan.toml", "--add", "3", "--out", "sites"])
            .code,
        0
    );
    let again = folder.run(&["cores", "plan.toml", "--add", "4", "--out", "sites"]);
    assert_eq!(again.code, 2, "{}", again.stderr);
    assert_eq!(
        folder
            .run(&[
                "cores",
                "plan.toml",
                "--add",
                "4",
                "--out",
                "sites",
                "--force"
            ])
            .code,
        0
    );
}

#[test]
fn every_pattern_gives_sites_and_the_record_tells_them() {
    let folder = Farm::good().write();
    for pattern in ["regular", "triangular", "zones"] {
        let ran = folder.run(&[
            "cores",
            "plan.toml",
            "--add",
            "12",
            "--pattern",
            pattern,
            "--out",
            pattern,
            "--json",
        ]);
        assert_eq!(ran.code, 0, "{pattern}: {}", ran.stderr);
        let sites = ran.json()["sites"].as_array().unwrap().len();
        assert!(sites.abs_diff(12) <= 4, "{pattern}: {sites}");
    }
}

#[test]
fn no_cores_at_all_are_refused() {
    let folder = Farm::good().write();
    let ran = folder.run(&["cores", "plan.toml", "--add", "0", "--out", "sites"]);
    assert_eq!(ran.code, 2);
    assert!(ran.stderr.contains("ask for 1 to"), "{}", ran.stderr);
    assert!(!folder.path().join("sites").exists());
}

/// A field of which only the boundary is known: what a first visit starts from.
#[test]
fn a_field_without_any_cores_gets_a_first_layout() {
    let farm = Farm::good();
    let until = farm.plan.find("[[points]]").expect("a table of points");
    let after = farm.plan[until..]
        .find("\n[grid]")
        .map_or(farm.plan.len(), |at| until + at);
    let bare = format!("{}{}", &farm.plan[..until], &farm.plan[after..]);
    let folder = Farm { plan: bare, ..farm }.write();
    for pattern in ["regular", "triangular"] {
        let ran = folder.run(&[
            "cores",
            "plan.toml",
            "--add",
            "20",
            "--pattern",
            pattern,
            "--out",
            pattern,
            "--json",
        ]);
        assert_eq!(ran.code, 0, "{pattern}: {}", ran.stderr);
        assert!(ran.json()["sites"].as_array().unwrap().len().abs_diff(20) <= 4);
    }
    // Everything else needs observations and says how to come by them.
    for command in [
        &["cores", "plan.toml", "--add", "20", "--out", "more"][..],
        &["plan", "plan.toml", "--out", "out"],
        &["check", "plan.toml"],
    ] {
        let ran = folder.run(command);
        assert_eq!(ran.code, 2, "{command:?}: {}", ran.stderr);
        assert!(
            ran.stderr.contains("\"points\" is missing")
                && ran.stderr.contains("--pattern regular"),
            "{}",
            ran.stderr
        );
    }
}
