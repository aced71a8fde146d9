//! A result keeps the checksums of its files: what was edited is said, and not overwritten unasked.

use std::fs;
use std::process::Command;

use crate::farm::Farm;
use crate::program::Folder;

fn finished() -> Folder {
    let folder = Farm::good().write();
    let ran = folder.run(&["plan", "plan.toml", "--out", "out"]);
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    folder
}

#[test]
fn the_record_has_the_checksum_of_every_other_file() {
    let folder = finished();
    let out = folder.path().join("out");
    let record: serde_json::Value =
        serde_json::from_slice(&fs::read(out.join("run.json")).unwrap()).unwrap();
    let files = record["files"].as_array().unwrap();
    let list: String = files
        .iter()
        .map(|file| {
            format!(
                "{}  {}\n",
                file["sha256"].as_str().unwrap(),
                file["path"].as_str().unwrap()
            )
        })
        .collect();
    fs::write(folder.path().join("sums"), list).unwrap();
    // Checked by sha256sum of coreutils.
    let checked = Command::new("sha256sum")
        .args(["--check", "--strict", "../sums"])
        .current_dir(&out)
        .output()
        .expect("sha256sum, of coreutils");
    assert!(checked.status.success(), "{checked:?}");
    let written = Folder::contents(&folder)
        .into_iter()
        .filter(|path| path.starts_with("out") && folder.path().join(path).is_file())
        .count();
    assert_eq!(files.len() + 1, written, "all but run.json itself");
}

#[test]
fn explain_says_which_files_were_changed_or_are_gone() {
    let folder = finished();
    let out = folder.path().join("out");
    let sound = folder.run(&["explain", "out", "--zone", "1"]);
    assert_eq!((sound.code, sound.stderr.as_str()), (0, ""));
    fs::write(out.join("report.txt"), "all is well").unwrap();
    fs::remove_file(out.join("mix.txt")).unwrap();
    let ran = folder.run(&["explain", "out", "--zone", "1"]);
    assert_eq!(ran.code, 1, "{}", ran.stderr);
    assert_eq!(ran.stdout, sound.stdout);
    for words in [
        "\"report.txt\" was changed since it was written",
        "\"mix.txt\" is gone since it was written",
    ] {
        assert!(ran.stderr.contains(words), "{}", ran.stderr);
    }
    let record = folder
        .run(&["explain", "out", "--zone", "1", "--json"])
        .json();
    assert_eq!(record["remarks"].as_array().unwrap().len(), 2);
    assert_eq!(record["exit_code"], 1);
}

#[test]
fn a_result_that_was_edited_is_overwritten_only_with_force() {
    let folder = finished();
    let report = folder.path().join("out/report.txt");
    fs::write(&report, "my own words").unwrap();
    let refused = folder.run(&["plan", "plan.toml", "--out", "out"]);
    assert_eq!(refused.code, 2);
    assert!(
        refused.stderr.contains("\"report.txt\" was changed") && refused.stderr.contains("--force"),
        "{}",
        refused.stderr
    );
    assert_eq!(fs::read_to_string(&report).unwrap(), "my own words");
    let forced = folder.run(&["plan", "plan.toml", "--out", "out", "--force"]);
    assert!(matches!(forced.code, 0 | 1), "{}", forced.stderr);
    assert_ne!(fs::read_to_string(&report).unwrap(), "my own words");
}

#[test]
fn force_does_not_overwrite_what_was_never_ours() {
    let folder = Farm::good().write();
    let theirs = folder.path().join("theirs");
    fs::create_dir(&theirs).unwrap();
    fs::write(theirs.join("notes.txt"), "mine").unwrap();
    let ran = folder.run(&["plan", "plan.toml", "--out", "theirs", "--force"]);
    assert_eq!(ran.code, 2, "{}", ran.stderr);
    assert_eq!(
        fs::read_to_string(theirs.join("notes.txt")).unwrap(),
        "mine"
    );
}

#[test]
fn a_result_of_a_version_without_checksums_is_ours_and_is_explained() {
    let folder = finished();
    let path = folder.path().join("out/run.json");
    let mut record: serde_json::Value = serde_json::from_slice(&fs::read(&path).unwrap()).unwrap();
    let names: Vec<serde_json::Value> = record["files"]
        .as_array()
        .unwrap()
        .iter()
        .map(|file| file["path"].clone())
        .collect();
    record["files"] = names.into();
    record["form"] = 1.into();
    fs::write(&path, record.to_string()).unwrap();
    assert_eq!(folder.run(&["explain", "out", "--zone", "1"]).code, 0);
    let again = folder.run(&["plan", "plan.toml", "--out", "out"]);
    assert!(matches!(again.code, 0 | 1), "{}", again.stderr);
}

#[test]
fn a_path_that_cannot_be_is_the_users_to_change() {
    let long = "o".repeat(20_000);
    for out in ["/", long.as_str(), "cores.csv/out", "plan.toml"] {
        let ran = Farm::good().refused_into(out);
        assert_eq!(ran.code, 2, "{}", ran.stderr);
        assert!(ran.stderr.len() < 1_000, "the path is not printed whole");
    }
}

#[test]
fn a_record_that_is_a_pipe_or_a_device_is_not_waited_for() {
    let folder = Farm::good().write();
    let made = Command::new("mkfifo")
        .arg(folder.path().join("run.json"))
        .status()
        .expect("mkfifo, of coreutils");
    assert!(made.success());
    let ran = folder.run(&["explain", ".", "--zone", "1"]);
    assert_eq!(ran.code, 2, "{}", ran.stderr);
    let ran = folder.run(&["plan", "plan.toml", "--out", "."]);
    assert_eq!(ran.code, 2, "{}", ran.stderr);
}
