//! Ctrl-C and the end of a batch job: the usual exit codes, and nothing half-written.

use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use crate::farm::Farm;
use crate::program::{Folder, command};

fn slow_farm() -> Folder {
    Farm::good()
        .plan_with("cell = \"10 m\"", "cell = \"0.5 m\"")
        .write()
}

fn start(folder: &Folder) -> Child {
    command(folder.path(), &["plan", "plan.toml", "--out", "out"])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// Sends a signal and waits for the end; `None` where the program was ended by the signal itself.
fn end(mut child: Child, signal: &str) -> Option<i32> {
    let sent = Command::new("kill")
        .args([signal, &child.id().to_string()])
        .status()
        .expect("kill, of every Unix");
    assert!(sent.success(), "the program was still at work");
    child.wait().unwrap().code()
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn a_signal_during_the_work_ends_it_with_the_usual_code_and_leaves_nothing() {
    for (signal, code) in [("-INT", 130), ("-TERM", 143)] {
        let folder = slow_farm();
        let before = names(folder.path());
        let child = start(&folder);
        std::thread::sleep(Duration::from_millis(500));
        assert_eq!(end(child, signal), Some(code));
        assert_eq!(names(folder.path()), before, "{signal}");
    }
}

#[test]
fn a_signal_while_files_are_written_leaves_a_whole_result_or_none() {
    let folder = Farm::good().write();
    let before = names(folder.path());
    let mut stopped = 0;
    for turn in 0..20 {
        let child = start(&folder);
        let begun = Instant::now();
        while names(folder.path()) == before && begun.elapsed() < Duration::from_secs(20) {
            std::thread::sleep(Duration::from_micros(200));
        }
        let code = end(child, if turn % 2 == 0 { "-INT" } else { "-TERM" });
        let after = names(folder.path());
        match code {
            Some(130 | 143) => {
                stopped += 1;
                assert_eq!(after, before, "turn {turn}");
            }
            Some(0 | 1) => {
                assert!(after.contains(&"out".to_owned()), "turn {turn}: {after:?}");
                assert_eq!(after.len(), before.len() + 1, "turn {turn}: {after:?}");
                fs::remove_dir_all(folder.path().join("out")).unwrap();
            }
            other => panic!("turn {turn}: {other:?}"),
        }
    }
    assert!(stopped > 0, "no signal came in time");
}
