//! Text for a plan file: quoted strings and relative paths.

use std::path::{Component, Path, PathBuf};

/// A TOML string.
pub(super) fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// A comment of one line.
pub(super) fn comment(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}

/// A path as seen from a folder, with forward slashes.
pub(super) fn relative(file: &Path, folder: &Path) -> String {
    let absolute = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let (file, folder) = (tidy(&absolute(file)), tidy(&absolute(folder)));
    let shared = file
        .components()
        .zip(folder.components())
        .take_while(|(a, b)| a == b)
        .count();
    let has_shared_root = file.components().next() == folder.components().next();
    if !has_shared_root {
        return file.display().to_string();
    }
    let up = folder
        .components()
        .skip(shared)
        .map(|_| Component::ParentDir);
    let path: PathBuf = up.chain(file.components().skip(shared)).collect();
    path.display().to_string().replace('\\', "/")
}

/// A path without `.` and `..`.
fn tidy(path: &Path) -> PathBuf {
    let mut out = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => {
                out.pop();
            }
            other => out.push(other),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_seen_from_the_folder_of_the_plan() {
        let seen = |file: &str, folder: &str| relative(Path::new(file), Path::new(folder));
        assert_eq!(seen("/a/b/cores.csv", "/a/b"), "cores.csv");
        assert_eq!(seen("/a/lab/cores.csv", "/a/b"), "../lab/cores.csv");
        assert_eq!(seen("/a/./b/../cores.csv", "/a/b/c"), "../../cores.csv");
    }

    #[test]
    fn strings_with_quotes_and_inch_marks_are_quoted() {
        let line = format!("x = {}", quoted("0-6\" \\ core"));
        let table: toml::Table = toml::from_str(&line).expect("a line of a plan");
        assert_eq!(table["x"].as_str(), Some("0-6\" \\ core"));
    }
}
