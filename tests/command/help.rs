//! Help, version, colors, and arguments that cannot be read.

use std::io::Read;
use std::process::Stdio;

use crate::program::{Folder, command};

const COMMANDS: [&str; 5] = ["start", "check", "plan", "explain", "rulebook"];

#[test]
fn help_goes_to_stdout_and_ends_with_the_exit_codes() {
    let ran = Folder::with(&[]).run(&["--help"]);
    assert_eq!((ran.code, ran.stderr.as_str()), (0, ""));
    let codes = ran
        .stdout
        .split("Exit codes:")
        .nth(1)
        .expect("the exit codes are told");
    assert_eq!(
        codes.lines().filter(|line| !line.trim().is_empty()).count(),
        4,
        "nothing follows the four codes"
    );
    for command in COMMANDS {
        assert!(ran.stdout.contains(command), "{command} is listed");
    }
}

#[test]
fn every_command_has_help_for_each_argument_and_an_example() {
    for name in COMMANDS {
        let ran = Folder::with(&[]).run(&[name, "--help"]);
        assert_eq!(ran.code, 0, "{name}");
        assert!(
            ran.stdout.contains(&format!("lowstave {name}")),
            "{name} has an example of its own"
        );
        let lines: Vec<&str> = ran.stdout.lines().collect();
        let is_note = |line: &str| line.contains("[default") || line.contains("[possible values");
        let is_argument =
            |line: &str| line.trim_start().starts_with(['-', '<', '[']) && !is_note(line);
        for (at, line) in lines
            .iter()
            .enumerate()
            .filter(|(_, line)| line.starts_with("  ") && is_argument(line))
        {
            let has_help_beside = line
                .trim()
                .split("  ")
                .filter(|part| !part.is_empty())
                .count()
                > 1;
            let has_help_below = lines
                .get(at + 1)
                .is_some_and(|next| next.starts_with("      ") && !is_argument(next));
            assert!(
                has_help_beside || has_help_below,
                "{name}: \"{line}\" has no help"
            );
        }
    }
}

#[test]
fn arguments_that_cannot_be_read_are_told_on_stderr_with_code_2() {
    for arguments in [
        &[][..],
        &["plann", "x.toml"],
        &["plan"],
        &["plan", "x.toml"],
        &["check", "x.toml", "--threads", "0"],
        &["explain", ".", "--zone", "x"],
    ] {
        let ran = Folder::with(&[]).run(arguments);
        assert_eq!((ran.code, ran.stdout.as_str()), (2, ""), "{arguments:?}");
        assert!(
            ran.stderr.contains("error"),
            "{arguments:?}: {}",
            ran.stderr
        );
    }
}

#[test]
fn colors_are_used_when_asked_for_and_never_in_a_file_by_themselves() {
    let folder = Folder::with(&[]);
    assert!(
        folder
            .run(&["rulebook", "show", "--color", "always"])
            .stdout
            .contains("\u{1b}[")
    );
    assert!(
        !folder.run(&["rulebook", "show"]).stdout.contains('\u{1b}'),
        "a pipe is no terminal"
    );
    assert!(
        !folder
            .run(&["rulebook", "show", "--color", "never"])
            .stdout
            .contains('\u{1b}')
    );
}

#[test]
fn a_reader_that_goes_away_is_quiet_success() {
    let folder = Folder::with(&[]);
    let mut child = command(folder.path(), &["rulebook", "show"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // Gone before the program has anything to say: every write meets a broken pipe.
    drop(child.stdout.take());
    let mut stderr = String::new();
    child
        .stderr
        .take()
        .unwrap()
        .read_to_string(&mut stderr)
        .unwrap();
    assert_eq!(
        (child.wait().unwrap().code(), stderr.as_str()),
        (Some(0), "")
    );
}

#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_under_stdout_is_a_failure() {
    let full = std::fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .unwrap();
    let folder = Folder::with(&[]);
    let output = command(folder.path(), &["rulebook", "show"])
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(
        output.status.code(),
        Some(3),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert!(String::from_utf8_lossy(&output.stderr).contains("cannot be printed"));
}
