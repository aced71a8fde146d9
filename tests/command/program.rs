//! Runs the real binary in a folder of its own.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use tempfile::TempDir;

/// What a run of the program gave.
#[derive(Debug)]
pub struct Ran {
    pub code: i32,
    pub stdout: String,
    pub stderr: String,
}

impl Ran {
    /// stdout as JSON; a test that gets something else fails.
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.stdout)
            .unwrap_or_else(|cause| panic!("not JSON ({cause}): {}", self.stdout))
    }
}

/// The program with its arguments, in a folder.
pub fn command(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lowstave"));
    command
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .env_remove("NO_COLOR");
    command
}

/// Runs the program in a folder.
pub fn run_in(folder: &Path, arguments: &[&str]) -> Ran {
    let output = command(folder, arguments).output().unwrap();
    Ran {
        code: output.status.code().expect("the program ends by itself"),
        stdout: String::from_utf8(output.stdout).unwrap(),
        stderr: String::from_utf8(output.stderr).unwrap(),
    }
}

/// A folder of its own for one test, with files.
pub struct Folder(TempDir);

impl Folder {
    pub fn with(files: &[(&str, &str)]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in files {
            fs::write(folder.path().join(name), text).unwrap();
        }
        Self(folder)
    }

    pub fn path(&self) -> &Path {
        self.0.path()
    }

    pub fn run(&self, arguments: &[&str]) -> Ran {
        run_in(self.path(), arguments)
    }

    /// Every file and folder below, sorted: what a run left behind.
    pub fn contents(&self) -> Vec<PathBuf> {
        let mut found = Vec::new();
        let mut folders = vec![self.path().to_owned()];
        while let Some(folder) = folders.pop() {
            for entry in fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    folders.push(path.clone());
                }
                found.push(path.strip_prefix(self.path()).unwrap().to_owned());
            }
        }
        found.sort();
        found
    }
}
