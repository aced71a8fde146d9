//! Completions and manual pages.

use crate::program::Folder;

#[test]
fn completions_know_every_command_and_are_shell_that_parses() {
    let folder = Folder::with(&[]);
    for shell in ["bash", "zsh", "fish"] {
        let ran = folder.run(&["completions", shell]);
        assert_eq!(ran.code, 0, "{}", ran.stderr);
        for command in ["start", "check", "plan", "explain", "rulebook", "cores"] {
            assert!(ran.stdout.contains(command), "{shell}: {command}");
        }
    }
    let script = folder.path().join("lowstave.bash");
    std::fs::write(&script, folder.run(&["completions", "bash"]).stdout).unwrap();
    let parsed = std::process::Command::new("bash")
        .arg("-n")
        .arg(&script)
        .output()
        .unwrap();
    assert!(
        parsed.status.success(),
        "{}",
        String::from_utf8_lossy(&parsed.stderr)
    );
}

#[test]
fn the_manual_has_a_page_for_the_program_and_for_each_command() {
    let folder = Folder::with(&[]);
    assert!(folder.run(&["manual"]).stdout.contains(".TH lowstave 1"));
    let plan = folder.run(&["manual", "plan"]).stdout;
    assert!(plan.contains("\\-\\-out") && plan.contains(".SH"), "{plan}");
    let wrong = folder.run(&["manual", "plane"]);
    assert_eq!(wrong.code, 2);
    assert!(
        wrong
            .stderr
            .contains("the commands are: start, check, plan"),
        "{}",
        wrong.stderr
    );
}
