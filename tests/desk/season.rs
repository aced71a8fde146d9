//! After emergence and after harvest.

use serde_json::json;

use super::program::Desk;

/// A copy of the invented sample, with its result folder.
fn alder_flat() -> (tempfile::TempDir, Desk) {
    let folder = tempfile::tempdir().unwrap();
    let sample = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat");
    for entry in std::fs::read_dir(sample).unwrap().flatten() {
        std::fs::copy(entry.path(), folder.path().join(entry.file_name())).unwrap();
    }
    let desk = Desk::of(folder.path());
    let id = desk.answer(&json!([])).done()["id"].clone();
    desk.post("/api/take", &json!({"answer": id, "out": "out"}))
        .done();
    (folder, desk)
}

#[test]
fn stands_and_brix_are_followed_as_the_command_does() {
    let (_folder, desk) = alder_flat();
    let question = json!({"out": "out", "season": ["stand.csv", "brix.csv"], "planted": "2027-04-28", "population": 32000});
    let told = desk.post("/api/after", &question).done();
    let text = told["texts"][0][1].as_str().unwrap();
    assert_eq!(told["texts"][0][0], "follow.txt");
    let run = std::process::Command::new(env!("CARGO_BIN_EXE_lowstave"))
        .args([
            "follow",
            "out",
            "--results",
            "stand.csv",
            "brix.csv",
            "--planted",
            "2027-04-28",
            "--population",
            "32000",
        ])
        .args(["--plan", "plan.toml", "--out", "by-command", "--quiet"])
        .current_dir(&desk.folder)
        .output()
        .unwrap();
    assert!(matches!(run.status.code(), Some(0 | 1)), "{run:?}");
    let own = std::fs::read_to_string(desk.folder.join("by-command/follow.txt")).unwrap();
    assert_eq!(text, own);
    let none = json!({"out": "nowhere", "season": ["stand.csv"]});
    assert_eq!(desk.post("/api/after", &none).status, 422);
    let bad = json!({"out": "out", "season": ["stand.csv"], "planted": "soon"});
    assert_eq!(desk.post("/api/after", &bad).status, 400);
}
