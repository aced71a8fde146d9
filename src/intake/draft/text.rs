//! Paths as a plan file names them.

use std::path::{Component, Path, PathBuf};

/// A path as seen from a folder, with forward slashes.
pub(super) fn relative(file: &Path, folder: &Path) -> String {
    // An empty path is the folder that one stands in.
    let own = |path: &Path| {
        if path.as_os_str().is_empty() {
            PathBuf::from(".")
        } else {
            path.to_owned()
        }
    };
    let absolute = |path: &Path| std::path::absolute(own(path)).unwrap_or_else(|_| path.to_owned());
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
        assert_eq!(seen("cores.csv", ""), "cores.csv");
        assert_eq!(seen("/a/lab/cores.csv", "/a/b"), "../lab/cores.csv");
        assert_eq!(seen("/a/./b/../cores.csv", "/a/b/c"), "../../cores.csv");
    }
}
