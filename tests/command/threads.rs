//! However many threads may be had, the work is done.

use std::fs;

use crate::farm::Farm;
use crate::program::command;

#[test]
fn more_threads_than_do_any_good_are_capped_with_a_word() {
    let folder = Farm::good().write();
    let ran = folder.run(&[
        "plan",
        "plan.toml",
        "--out",
        "out",
        "--threads",
        "1000000000",
    ]);
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    assert!(
        ran.stderr
            .contains("1000000000 threads are more than 4 for each of the"),
        "{}",
        ran.stderr
    );
}

/// A thread whose stack is larger than any memory cannot be started, whoever asks: the same as where a user's
/// processes are limited, which does not bind root.
#[test]
fn where_no_further_thread_can_be_started_the_work_is_done_on_one() {
    let folder = Farm::good().write();
    for arguments in [
        ["plan", "plan.toml", "--out", "out"].as_slice(),
        &["plan", "plan.toml", "--out", "out8", "--threads", "8"],
        &["check", "plan.toml"],
    ] {
        let output = command(folder.path(), arguments)
            .env("RUST_MIN_STACK", (1_u64 << 50).to_string())
            .output()
            .unwrap();
        let stderr = String::from_utf8(output.stderr).unwrap();
        assert!(matches!(output.status.code(), Some(0 | 1)), "{stderr}");
        assert!(
            stderr.contains("no further thread can be started here; the work is done on one"),
            "{stderr}"
        );
        assert!(!stderr.contains("panicked"), "{stderr}");
    }
    let usual = folder.run(&["plan", "plan.toml", "--out", "usual"]);
    assert!(matches!(usual.code, 0 | 1));
    for file in ["prescription.geojson", "report.txt", "maps.gpkg"] {
        let bytes = |out: &str| fs::read(folder.path().join(out).join(file)).unwrap();
        assert!(bytes("out") == bytes("usual"), "{file} differs");
    }
    let left = folder.contents();
    assert!(
        left.iter()
            .all(|path| !path.to_string_lossy().contains(".lowstave-")),
        "nothing half-made is left: {left:?}"
    );
}
