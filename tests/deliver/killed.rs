//! A run that is killed at any moment leaves the old result or the new one, whole.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use lowstave::deliver::{Delivery, write};

use super::{Draws, Invented, delivered, delivery_in};

const KILLS: usize = 200;
/// The folder that the child works in; not set in an ordinary run.
const CHILD: &str = "LOWSTAVE_TEST_CHILD_WORKS_IN";

/// Not a test by itself: as a child process it writes one result after the other until it is killed.
#[test]
fn child_writes_until_it_is_killed() {
    let Some(folder) = std::env::var_os(CHILD).map(PathBuf::from) else {
        return;
    };
    let results = ["one", "other"].map(|name| delivery_in(&folder.join(name)));
    fs::write(folder.join("ready"), "").unwrap();
    for turn in 0.. {
        write(&results[turn % 2], &folder.join("out")).expect("the child can write");
    }
}

fn is_whole(delivery: &Delivery, out: &Path) -> bool {
    delivery
        .files
        .iter()
        .all(|file| fs::read(out.join(&file.path)).is_ok_and(|bytes| bytes == file.bytes))
}

fn start_child(folder: &Path) -> Child {
    let _ = fs::remove_file(folder.join("ready"));
    let child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "killed::child_writes_until_it_is_killed"])
        .env(CHILD, folder)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let start = Instant::now();
    while !folder.join("ready").exists() {
        assert!(
            start.elapsed() < Duration::from_secs(60),
            "the child does not start"
        );
        std::thread::sleep(Duration::from_millis(1));
    }
    child
}

#[test]
fn two_hundred_kills_leave_a_whole_result_each_time() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let results = [
        delivered(&Invented::small()),
        delivered(&Invented::metric()),
    ];
    write(&results[0], &folder.path().join("one")).unwrap();
    write(&results[1], &folder.path().join("other")).unwrap();
    write(&results[0], &out).unwrap();
    let (mut draws, mut seen, mut halves) = (Draws(3), [0, 0], 0);
    for kill in 0..KILLS {
        let mut child = start_child(folder.path());
        std::thread::sleep(Duration::from_secs_f64(0.3 * draws.next()));
        child.kill().expect("SIGKILL");
        let _ = child.wait();
        halves += usize::from(fs::read_dir(folder.path()).unwrap().count() > 4);
        let found = results.iter().position(|delivery| is_whole(delivery, &out));
        seen[found
            .unwrap_or_else(|| panic!("kill {kill} left neither the old nor the new result"))] += 1;
    }
    assert!(
        seen.iter().all(|count| *count > 0) && halves > 0,
        "the kills hit runs that were writing: {seen:?}, {halves} half-made folders"
    );
    write(&results[0], &out).unwrap();
    let left = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .filter(|name| name != "ready")
        .count();
    assert_eq!(
        left, 3,
        "the next run tidies up: only one, other and out are left"
    );
}
