//! The plan on the disk is the old one or the new one, never a part of one.

use std::process::Command;
use std::time::Duration;

use serde_json::json;

use super::program::Desk;
use super::small_field;

#[test]
fn a_desk_that_is_killed_while_it_keeps_leaves_a_whole_plan() {
    let folder = tempfile::tempdir().unwrap();
    small_field::write(folder.path());
    let (mut old, mut new) = (0, 0);
    for round in 0..12_u64 {
        std::fs::write(folder.path().join("plan.toml"), small_field::PLAN).unwrap();
        let mut desk = Desk::of(folder.path());
        desk.answer(&json!([])).done();
        let changes = json!([{"what": "set", "key": "machine.swath", "value": "60 ft"}]);
        let keeping = json!({"plan": desk.plan(), "changes": changes, "why": "a test"});
        std::thread::scope(|scope| {
            let body = serde_json::to_vec(&keeping).unwrap();
            let desk = &desk;
            scope.spawn(move || drop(desk.try_ask("test", "POST /api/keep", &body)));
            std::thread::sleep(Duration::from_millis(round * 15));
            // The request may still run; the process is ended from outside, as a power cut would.
            let id = desk.id().to_string();
            Command::new("kill").args(["-9", &id]).status().unwrap();
        });
        desk.kill();
        let text = desk.plan_text();
        if text == small_field::PLAN {
            old += 1;
        } else {
            let kept: toml::Table = text.parse().expect("the plan is whole");
            assert_eq!(kept["machine"]["swath"].as_str(), Some("60 ft"));
            assert!(text.ends_with("limit = \"60 USD/ac\"\n"), "{text}");
            new += 1;
        }
    }
    assert_eq!(old + new, 12);
    println!("{old} old plans, {new} new ones");
}

/// A limit of a file's size stands for the full disk: what the desk writes is longer than one block.
#[cfg(unix)]
#[test]
fn a_disk_without_room_leaves_the_plan_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    small_field::write(folder.path());
    let mut command = Command::new("sh");
    let program = env!("CARGO_BIN_EXE_lowstave");
    let script =
        format!("trap '' XFSZ; ulimit -f 1; exec '{program}' desk --no-open --json \"$0\"");
    command.args(["-c", &script]).arg(folder.path());
    let desk = Desk::started(command, folder.path());
    let why = "a long reason ".repeat(30);
    let changes = json!([{"what": "set", "key": "machine.swath", "value": "60 ft"}]);
    let keeping = json!({"plan": desk.plan(), "changes": changes, "why": why});
    let reply = desk.post("/api/keep", &keeping);
    assert_eq!(
        reply.status,
        500,
        "{}",
        String::from_utf8_lossy(&reply.body)
    );
    assert_eq!(desk.plan_text(), small_field::PLAN);
    let names: Vec<_> = std::fs::read_dir(folder.path())
        .unwrap()
        .flatten()
        .collect();
    assert_eq!(names.len(), 3, "nothing half-written stays: {names:?}");
    let id = desk.answer(&json!([])).done()["id"].clone();
    let taken = desk.post("/api/take", &json!({"answer": id, "out": "out"}));
    assert_eq!(taken.status, 500);
    assert!(!folder.path().join("out").exists());
}
