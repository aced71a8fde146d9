//! What is taken is what `plan` writes.

use std::collections::BTreeMap;
use std::io::{Cursor, Read as _};
use std::path::Path;
use std::process::Command;

use serde_json::{Value, json};

use super::program::Desk;

type Bytes = BTreeMap<String, Vec<u8>>;

/// The record of a run without the one key that may differ.
fn without_timings(bytes: &[u8]) -> Vec<u8> {
    let mut record: Value = serde_json::from_slice(bytes).unwrap();
    record
        .as_object_mut()
        .unwrap()
        .remove("timings")
        .expect("a record has timings");
    serde_json::to_vec(&record).unwrap()
}

fn even(mut files: Bytes) -> Bytes {
    let record = files.get_mut("run.json").expect("a result has a record");
    *record = without_timings(record);
    files
}

fn folder(root: &Path) -> Bytes {
    let mut files = Bytes::new();
    let mut waiting = vec![root.to_owned()];
    while let Some(folder) = waiting.pop() {
        for entry in std::fs::read_dir(folder).unwrap().flatten() {
            let path = entry.path();
            if path.is_dir() {
                waiting.push(path);
            } else {
                let name = path.strip_prefix(root).unwrap().display().to_string();
                files.insert(name, std::fs::read(path).unwrap());
            }
        }
    }
    files
}

fn archive(bytes: &[u8]) -> Bytes {
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    (0..zip.len())
        .map(|at| {
            let mut entry = zip.by_index(at).unwrap();
            let mut bytes = Vec::new();
            entry.read_to_end(&mut bytes).unwrap();
            (entry.name().unwrap().into_owned(), bytes)
        })
        .collect()
}

/// What `plan` writes for the plan of a desk.
fn by_plan(desk: &Desk) -> Bytes {
    let (out, plan) = (desk.folder.join("by-plan"), desk.folder.join("plan.toml"));
    let output = Command::new(env!("CARGO_BIN_EXE_lowstave"))
        .args(["plan", "--quiet", "--out"])
        .args([&out, &plan])
        .output()
        .unwrap();
    assert!(matches!(output.status.code(), Some(0 | 1)), "{output:?}");
    even(folder(&out))
}

/// Compares an archive of a desk with the folder that `plan` writes.
pub fn is_what_plan_writes(desk: &Desk, zip: &[u8]) {
    assert!(
        even(archive(zip)) == by_plan(desk),
        "the archive is not what plan writes"
    );
}

#[test]
fn folder_archive_and_single_files_are_what_plan_writes() {
    let desk = Desk::of_small_field();
    let wanted = by_plan(&desk);
    let id = desk.answer(&json!([])).done()["id"].clone();
    let zip = desk.get(&format!("/api/answers/{id}/zip"));
    assert_eq!(zip.status, 200);
    assert!(zip.head.contains("attachment"), "{}", zip.head);
    let taken = desk
        .post("/api/take", &json!({"answer": id, "out": "by-desk"}))
        .done();
    assert_eq!(taken["files"].as_array().unwrap().len(), wanted.len());
    for (whose, found) in [
        ("archive", even(archive(&zip.body))),
        ("folder", even(folder(&desk.folder.join("by-desk")))),
    ] {
        assert_eq!(
            found.keys().collect::<Vec<_>>(),
            wanted.keys().collect::<Vec<_>>(),
            "{whose}"
        );
        for (name, bytes) in &wanted {
            assert!(found[name] == *bytes, "{whose}: {name} differs");
        }
    }
    let one = desk.get(&format!(
        "/api/answers/{id}/file?path=controller/taskdata.zip"
    ));
    assert_eq!(one.body, wanted["controller/taskdata.zip"]);
    let report = desk.get(&format!("/api/answers/{id}/report"));
    assert_eq!(report.body, wanted["report.html"]);
    let head = report.head.to_lowercase();
    assert!(
        head.contains("sandbox") && !head.contains("script-src"),
        "no script of a report runs: {head}"
    );
}

#[test]
fn what_is_only_tried_is_not_taken() {
    let desk = Desk::of_small_field();
    let change = json!([{"what": "set", "key": "zones.count", "value": 2}]);
    let id = desk.answer(&change).done()["id"].clone();
    assert_eq!(desk.get(&format!("/api/answers/{id}/zip")).status, 400);
    let take = json!({"answer": id, "out": "out"});
    assert_eq!(desk.post("/api/take", &take).status, 400);
    assert!(!desk.folder.join("out").exists());
}

#[test]
fn a_folder_of_somebody_else_is_not_written_over() {
    let desk = Desk::of_small_field();
    std::fs::create_dir(desk.folder.join("mine")).unwrap();
    std::fs::write(desk.folder.join("mine/notes.txt"), "mine").unwrap();
    let id = desk.answer(&json!([])).done()["id"].clone();
    let reply = desk.post("/api/take", &json!({"answer": id, "out": "mine"}));
    assert_eq!(
        reply.status,
        422,
        "{}",
        String::from_utf8_lossy(&reply.body)
    );
    assert_eq!(folder(&desk.folder.join("mine")).len(), 1);
}
