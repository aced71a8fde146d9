//! The program on a full disk and in a read-only folder: exit code 3, nothing new is left, an earlier result stays as it was.
//!
//! A small file system in memory is mounted where the machine allows it, for the test alone (`unshare`): as root, or as a user who may
//! have a name space of his own. Where it does not, that is said, and the limit of a file's size stands in for the full disk.

#![cfg(unix)]

use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::process::{Command, Output};

/// What a script ends with that may not mount.
const MAY_NOT_MOUNT: i32 = 77;

/// Runs the main job into `$1`; says its exit code and the first line of its complaint.
const JOB: &str = r#"
job() { said=$("$BIN" plan "$PLAN" --quiet --out "$1" 2>&1 >/dev/null); echo "code $?"; echo "$said" | grep '^error' | head -1; }
left() { find "$DIR" -mindepth 1 | wc -l; }
digest() { cd "$DIR" && find . -type f -print0 | sort -z | xargs -0 sha256sum | sha256sum; cd /; }
"#;

/// A script with the program, a plan and a folder.
fn script(shell: &[&str], text: &str, folder: &Path) -> Output {
    let output = Command::new(shell[0])
        .args(&shell[1..])
        .arg(format!("{JOB}{text}"))
        .env("BIN", env!("CARGO_BIN_EXE_lowstave"))
        .env(
            "PLAN",
            format!(
                "{}/samples/open-field/plan.toml",
                env!("CARGO_MANIFEST_DIR")
            ),
        )
        .env("DIR", folder)
        .output();
    output.unwrap_or_else(|error| panic!("{}: {error}", shell[0]))
}

/// The lines of a script in a name space of its own, with a file system of `size` mounted on `$DIR`; `None` where that may not be.
fn mounted(size: &str, text: &str) -> Option<Vec<String>> {
    let folder = tempfile::tempdir().unwrap();
    let mount =
        format!("mount -t tmpfs -o size={size} tmpfs \"$DIR\" || exit {MAY_NOT_MOUNT}\n{text}");
    for names in [
        &["unshare", "--mount", "sh", "-c"][..],
        &[
            "unshare",
            "--user",
            "--map-root-user",
            "--mount",
            "sh",
            "-c",
        ],
    ] {
        if Command::new("unshare").arg("--version").output().is_err() {
            break;
        }
        let output = script(names, &mount, folder.path());
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        // A name space that may not be made is a failure before the first line.
        if output.status.code() != Some(MAY_NOT_MOUNT) && !said.is_empty() {
            return Some(said.lines().map(str::to_owned).collect());
        }
    }
    println!("no file system may be mounted here: see the test with the limit of a file's size");
    None
}

#[test]
fn a_full_disk_is_exit_code_3_and_nothing_is_left() {
    let Some(lines) = mounted("200k", "job \"$DIR/seasons/2027/out\"\nleft") else {
        return;
    };
    assert_eq!(
        (lines[0].as_str(), lines[2].as_str()),
        ("code 3", "0"),
        "{lines:?}"
    );
    assert!(
        lines[1].contains("make room, or write to another disk"),
        "{lines:?}"
    );
}

#[test]
fn a_disk_that_fills_up_keeps_the_earlier_result_whole() {
    let text = r#"job "$DIR/out"; digest
        mount -o remount,size=$(( $(df -k --output=used "$DIR" | tail -1) + 500 ))k "$DIR"
        job "$DIR/out"; digest; find "$DIR" -mindepth 1 -maxdepth 1"#;
    let Some(lines) = mounted("64m", text) else {
        return;
    };
    let [first, before, second, complaint, after, left] = &lines[..] else {
        panic!("{lines:?}")
    };
    assert!(first == "code 0" || first == "code 1", "{lines:?}");
    assert_eq!((second.as_str(), before), ("code 3", after), "{lines:?}");
    assert!(
        complaint.contains("free on the disk") && left.ends_with("/out"),
        "{lines:?}"
    );
}

#[test]
fn a_read_only_disk_is_exit_code_3_and_keeps_the_earlier_result() {
    let text = r#"job "$DIR/out"; digest; mount -o remount,ro "$DIR"; job "$DIR/out"; job "$DIR/new"; digest; left"#;
    let Some(lines) = mounted("64m", text) else {
        return;
    };
    let [_, before, over, complaint, new, other_complaint, after, _] = &lines[..] else {
        panic!("{lines:?}")
    };
    assert_eq!(
        (over.as_str(), new.as_str(), before),
        ("code 3", "code 3", after),
        "{lines:?}"
    );
    for line in [complaint, other_complaint] {
        assert!(line.contains("Read-only file system"), "{lines:?}");
    }
}

/// No mount, no rights: a process may be told that no file of its may grow over 64 KiB. The system then refuses in the middle of a file.
#[test]
fn a_file_that_cannot_be_finished_is_exit_code_3_and_nothing_is_left() {
    let folder = tempfile::tempdir().unwrap();
    // `ulimit -f` counts 512 bytes; without the trap the signal would end the program.
    let output = script(
        &["sh", "-c"],
        "trap '' XFSZ; job \"$DIR/a/out\"; left; ulimit -f 128; job \"$DIR/b/out\"; left",
        folder.path(),
    );
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let lines: Vec<&str> = said.lines().collect();
    let [first, all, second, complaint, left] = lines[..] else {
        panic!("{said}")
    };
    assert!(matches!(first, "code 0" | "code 1"), "{said}");
    assert_eq!((second, left), ("code 3", all), "{said}");
    assert!(
        complaint.contains("b/out") && complaint.contains("File too large"),
        "{said}"
    );
}

#[test]
fn a_folder_without_the_right_to_write_is_exit_code_3_and_nothing_is_left() {
    let folder = tempfile::tempdir().unwrap();
    let shut = folder.path().join("shut");
    std::fs::create_dir(&shut).unwrap();
    std::fs::set_permissions(&shut, std::fs::Permissions::from_mode(0o555)).unwrap();
    // Rights do not bind root: then a place where nobody makes folders.
    let is_bound = std::fs::create_dir(shut.join("probe")).is_err();
    let out = if is_bound {
        "$DIR/shut/out"
    } else {
        "/proc/lowstave/out"
    };
    let output = script(
        &["sh", "-c"],
        &format!("job \"{out}\"; left"),
        folder.path(),
    );
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let lines: Vec<&str> = said.lines().collect();
    let expected = if is_bound { "1" } else { "2" };
    assert_eq!((lines[0], lines[2]), ("code 3", expected), "{said}");
}
