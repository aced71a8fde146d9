//! The fields' own files and the farm's change together, or it is told: nobody finds rates that the farm's money does not pay for.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Stdio;
use std::time::Duration;

use crate::farm_made::{another, assert_same, bytes_below, farm_file, write_all};
use crate::program::{Folder, command};

const RUN: [&str; 5] = ["farm", "farm.toml", "--files", "rates", "--out"];
const MARK: &str = "fields/NOT-FINISHED.txt";

/// Five fields with a limit in USD.
fn farm_with(limit: u32) -> Folder {
    let folder = Folder::with(&[]);
    set_limit(&folder, limit);
    write_all(
        folder.path(),
        (0..5).flat_map(|number| another(number).files()),
    );
    folder
}

fn set_limit(folder: &Folder, limit: u32) {
    let budget = format!("\n[budget]\nlimit = \"{limit} USD\"\n");
    let text = farm_file("[\"*/plan.toml\"]", &budget);
    fs::write(folder.path().join("farm.toml"), text).unwrap();
}

fn ran(folder: &Folder, out: &str, more: &[&str]) {
    let ran = folder.run(&[&RUN[..], &[out], more].concat());
    assert!(ran.code < 2, "{}", ran.stderr);
}

/// What somebody loads or reads: all but what is kept for going on.
fn shown(folder: &Folder, out: &str) -> BTreeMap<String, Vec<u8>> {
    let mut files = bytes_below(&folder.path().join(out));
    files.retain(|name, _| !name.starts_with("parts"));
    files
}

fn words(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_part_leaves_no_rates_that_are_not_shared_out_yet() {
    let folder = farm_with(2000);
    ran(&folder, "fresh", &["--part", "1/1"]);
    assert!(shown(&folder, "fresh").is_empty());
    ran(&folder, "out", &[]);
    let old = shown(&folder, "out");
    assert!(old.keys().any(|name| name.starts_with("fields/f001/")));
    // A run with less money that has done its first pass and not yet shared it out.
    set_limit(&folder, 400);
    ran(&folder, "out", &["--part", "1/1"]);
    assert_same(&old, &shown(&folder, "out"), "before the join");
    let joined = folder.run(&["farm", "join", "out"]);
    assert!(joined.code < 2, "{}", joined.stderr);
    ran(&folder, "whole", &[]);
    let whole = shown(&folder, "whole");
    assert!(whole != old, "less money changed nothing");
    assert_same(&whole, &shown(&folder, "out"), "after the join");
    assert!(!folder.path().join("out/parts/fields").exists());
}

#[test]
fn a_kill_leaves_the_old_farm_or_the_new_one_or_a_word_of_it() {
    let folder = farm_with(2000);
    ran(&folder, "out", &[]);
    let old = shown(&folder, "out");
    set_limit(&folder, 400);
    ran(&folder, "new", &[]);
    let new = shown(&folder, "new");
    let mut killed = 0;
    for milliseconds in [200, 500, 900, 1300, 1800, 2400] {
        let mut child = command(folder.path(), &[&RUN[..], &["out", "--resume"]].concat())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(Duration::from_millis(milliseconds));
        // SIGKILL; fails only where the work was done already.
        child.kill().unwrap();
        killed += usize::from(child.wait().unwrap().code().is_none());
        let found = shown(&folder, "out");
        let is_whole = found == old || found == new;
        assert!(
            is_whole || found.contains_key(MARK),
            "after {milliseconds} ms"
        );
    }
    assert!(killed > 0, "no run was killed at work");
    ran(&folder, "out", &["--resume"]);
    assert_same(&new, &shown(&folder, "out"), "gone on with");
}

#[test]
fn a_field_that_falls_out_when_the_money_is_shared_has_no_folder() {
    let folder = farm_with(400);
    ran(&folder, "out", &["--part", "1/1"]);
    let names: Vec<String> = (0..5).map(|number| another(number).folder).collect();
    ran(&folder, "whole", &[]);
    let shared = fs::read_to_string(folder.path().join("whole/parts/shared.json")).unwrap();
    let short = names.iter().find(|name| shared.contains(*name));
    let short = short.expect("a field that gets less");
    fs::write(folder.path().join(short).join("plan.toml"), "= no plan").unwrap();
    let joined = folder.run(&["farm", "join", "out"]);
    assert!(joined.code < 2, "{}", joined.stderr);
    assert!(!folder.path().join("out/fields").join(short).exists());
    let rest = names.iter().filter(|name| *name != short);
    for name in rest {
        assert!(folder.path().join("out/fields").join(name).is_dir());
    }
    let sheet = words(&folder.path().join("out/farm.txt"));
    assert!(sheet.contains("1 field lost its rates"), "{sheet}");
    assert!(!sheet.contains("No other choice"), "{sheet}");
}

#[test]
fn a_field_folder_with_something_of_the_users_refuses_the_farm_before_the_work() {
    for (file, found) in [("report.txt", "report.txt"), ("my.txt", "my.txt")] {
        let folder = farm_with(400);
        ran(&folder, "out", &[]);
        let path = folder.path().join("out/fields/f001").join(file);
        fs::write(path, "a note").unwrap();
        let before = bytes_below(&folder.path().join("out"));
        for more in [&[][..], &["--resume"], &["--part", "1/1"]] {
            let ran = folder.run(&[&RUN[..], &["out"], more].concat());
            assert_eq!(ran.code, 2, "{}", ran.stderr);
            assert!(ran.stderr.contains(found), "{}", ran.stderr);
            let after = bytes_below(&folder.path().join("out"));
            assert_same(&before, &after, "refused");
        }
    }
}

#[test]
fn an_old_folder_of_a_field_without_rates_is_told() {
    let folder = farm_with(2000);
    ran(&folder, "out", &[]);
    fs::write(folder.path().join("f002/plan.toml"), "= no plan").unwrap();
    let again = folder.run(&[&RUN[..], &["out"]].concat());
    assert_eq!(again.code, 1, "{}", again.stderr);
    let told = again.stderr.split_whitespace().collect::<Vec<_>>();
    let told = told.join(" ");
    assert!(
        told.contains("of fields that have no rates now") && told.contains("f002"),
        "{told}"
    );
}
