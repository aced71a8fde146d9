//! The commands of DEVELOPERS.md are run, so that none of them does nothing.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::program::run_in;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// What stands in the guide as a command: lines of its code blocks, and texts in backticks.
fn commands() -> Vec<String> {
    let guide = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let words = [
        "cargo ",
        "make ",
        ".ci/",
        "python ",
        "python3 ",
        "LOWSTAVE_",
    ];
    let is_command = |text: &&str| words.iter().any(|word| text.starts_with(word));
    let blocks = guide.lines().filter_map(|line| line.strip_prefix("    "));
    // What follows two blanks in a block says what the command does.
    let blocks = blocks.map(|line| line.split("  ").next().unwrap_or_default().trim());
    let inline = guide.split('`').skip(1).step_by(2);
    blocks
        .chain(inline)
        .filter(is_command)
        .map(str::to_owned)
        .collect()
}

/// Tests that a `cargo test` of the guide would run.
fn tests_of(arguments: &[&str]) -> usize {
    let listed = Command::new(env!("CARGO"))
        .current_dir(root())
        .args(arguments)
        .args(["--locked", "--quiet", "--", "--list"])
        .output()
        .unwrap();
    assert!(
        listed.status.success(),
        "{arguments:?}: {}",
        String::from_utf8_lossy(&listed.stderr)
    );
    let text = String::from_utf8_lossy(&listed.stdout).into_owned();
    text.lines().filter(|line| line.ends_with(": test")).count()
}

#[test]
fn the_commands_of_the_developers_guide_do_what_they_say() {
    let commands = commands();
    let mut run = 0;
    for command in &commands {
        let words: Vec<&str> = command.split_whitespace().collect();
        match words.as_slice() {
            ["make", target] => {
                let planned = Command::new("make")
                    .current_dir(root())
                    .args(["-n", target])
                    .output()
                    .unwrap();
                assert!(planned.status.success(), "{command}");
            }
            ["cargo", "run", "--", arguments @ ..] => {
                let ran = run_in(root(), arguments);
                assert!(ran.code <= 1, "{command}: {}", ran.stderr);
            }
            ["cargo", "test", ..] => assert!(tests_of(&words[1..]) > 0, "{command} runs no test"),
            [file] if file.starts_with(".ci/") => assert!(root().join(file).is_file(), "{command}"),
            ["python" | "python3", file, ..] => assert!(root().join(file).is_file(), "{command}"),
            // These build anew, need the network, or are the test that runs here.
            [
                "cargo",
                "check" | "shear" | "deny" | "audit" | "install" | "mutants" | "fuzz" | "bench"
                | "doc",
                ..,
            ] => continue,
            _ => panic!("{command} is a command that no test runs"),
        }
        run += 1;
    }
    assert!(run >= 8, "{run} of {commands:?}");
}
