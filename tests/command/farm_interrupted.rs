//! A farm that is killed or stopped: what is finished is kept, and the rest of the work gives the same bytes.

use std::process::{Command, Stdio};
use std::time::Duration;

use crate::farm_made::{assert_same, bytes_below, farm_of};
use crate::program::{Folder, command};

fn start(folder: &Folder, out: &str) -> std::process::Child {
    let arguments = [
        "farm",
        "farm.toml",
        "--out",
        out,
        "--resume",
        "--threads",
        "2",
        "--files",
        "rates",
    ];
    command(folder.path(), &arguments)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

#[test]
fn a_farm_that_is_killed_again_and_again_comes_out_as_one_that_is_not() {
    let folder = farm_of(10);
    let ran = folder.run(&["farm", "farm.toml", "--out", "calm", "--files", "rates"]);
    assert!(ran.code < 2, "{}", ran.stderr);
    let mut killed = 0;
    for milliseconds in [30, 900, 150, 400, 250, 700, 90, 550] {
        let mut child = start(&folder, "killed");
        std::thread::sleep(Duration::from_millis(milliseconds));
        // SIGKILL; fails only where the work was done already.
        child.kill().unwrap();
        if child.wait().unwrap().code().is_none() {
            killed += 1;
        }
    }
    assert!(killed > 0, "no run was killed at work");
    let ran = folder.run(&[
        "farm",
        "farm.toml",
        "--out",
        "killed",
        "--files",
        "rates",
        "--resume",
    ]);
    assert!(ran.code < 2, "{}", ran.stderr);
    let [calm, killed] = ["calm", "killed"].map(|out| bytes_below(&folder.path().join(out)));
    assert_same(&calm, &killed, "after kills");
}

#[test]
fn a_signal_leaves_a_state_to_go_on_from() {
    for (signal, code) in [("-INT", 130), ("-TERM", 143)] {
        let folder = farm_of(12);
        let child = start(&folder, "out");
        std::thread::sleep(Duration::from_millis(300));
        let sent = Command::new("kill")
            .args([signal, &child.id().to_string()])
            .status()
            .expect("kill, of every Unix");
        assert!(sent.success(), "the program was still at work");
        let mut child = child;
        assert_eq!(child.wait().unwrap().code(), Some(code));
        assert!(!folder.path().join("out/zones.parquet").exists());
        let ran = folder.run(&[
            "farm",
            "farm.toml",
            "--out",
            "out",
            "--files",
            "rates",
            "--resume",
        ]);
        assert!(ran.code < 2, "{}", ran.stderr);
        assert!(folder.path().join("out/zones.parquet").is_file());
    }
}
