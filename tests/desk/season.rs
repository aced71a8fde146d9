//! After emergence and after harvest.

use serde_json::json;

use super::program::Desk;

#[path = "../../samples/alder-flat/harvest.rs"]
pub mod harvest;

/// A copy of the invented sample, with its result folder.
pub fn alder_flat() -> (tempfile::TempDir, Desk) {
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

/// What `verdict` writes of a harvest that lies in the folder of a desk.
pub fn verdict_of_command(desk: &Desk) -> String {
    let run = std::process::Command::new(env!("CARGO_BIN_EXE_lowstave"))
        .args(["verdict", "out", "--results", "harvest.csv"])
        .args(["--out", "by-command", "--quiet"])
        .current_dir(&desk.folder)
        .output()
        .unwrap();
    assert!(matches!(run.status.code(), Some(0 | 1)), "{run:?}");
    std::fs::read_to_string(desk.folder.join("by-command/verdict.txt")).unwrap()
}

#[test]
fn yields_are_judged_as_the_command_does() {
    let (_folder, desk) = alder_flat();
    let yields = harvest::harvest("plan.toml").unwrap();
    // Dropped on the page as a browser sends it.
    let sent = desk.ask("test", "PUT /api/files/harvest.csv", yields.as_bytes());
    sent.done();
    let question = json!({"out": "out", "harvest": ["harvest.csv"]});
    let told = desk.post("/api/after", &question).done();
    assert_eq!(told["texts"][0][0], "verdict.txt");
    let text = told["texts"][0][1].as_str().unwrap();
    assert_eq!(text, verdict_of_command(&desk));
    // The truth of samples/alder-flat/harvest.rs: 9 bu/ac are lost where the starter is left out.
    assert!(text.contains("no starter"), "{text}");
    let short = told["verdict"].as_array().unwrap();
    assert!(!short.is_empty(), "{told}");
    let none = json!({"out": "out", "harvest": ["nowhere.csv"]});
    assert_eq!(desk.post("/api/after", &none).status, 422);
}
