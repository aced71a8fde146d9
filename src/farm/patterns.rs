//! Finds the plan files that a farm file names by patterns.

use std::path::{Path, PathBuf};

use crate::files::Files;

/// Deepest folder that `**` looks into.
const DEEPEST: usize = 12;

/// The files that a pattern names, sorted by path. A pattern without `*` and `?` names one file, there or not.
pub(super) fn matching(files: &Files, pattern: &str) -> Vec<PathBuf> {
    if !pattern.contains(['*', '?']) {
        return vec![PathBuf::from(pattern)];
    }
    let parts: Vec<&str> = pattern.split('/').filter(|part| *part != ".").collect();
    let mut found = Vec::new();
    walk(files, Path::new(""), &parts, DEEPEST, &mut found);
    found.sort();
    found.dedup();
    found
}

fn walk(files: &Files, folder: &Path, parts: &[&str], depth: usize, found: &mut Vec<PathBuf>) {
    let Some((first, rest)) = parts.split_first() else {
        return;
    };
    if rest.is_empty() {
        let names = files.names_in(folder).into_iter();
        found.extend(
            names
                .filter(|name| is_match(first, name))
                .map(|name| folder.join(name)),
        );
        return;
    }
    if *first == "**" {
        walk(files, folder, rest, depth, found);
        if depth > 0 {
            for name in below(files, folder) {
                walk(files, &folder.join(name), parts, depth - 1, found);
            }
        }
        return;
    }
    if !first.contains(['*', '?']) {
        walk(files, &folder.join(first), rest, depth, found);
        return;
    }
    for name in below(files, folder) {
        if is_match(first, &name) {
            walk(files, &folder.join(name), rest, depth, found);
        }
    }
}

/// The folders in a folder that are not hidden.
fn below(files: &Files, folder: &Path) -> Vec<String> {
    let mut names = files.folders_in(folder);
    names.retain(|name| !name.starts_with('.'));
    names
}

/// Whether a name is as a pattern says: `*` stands for any letters, `?` for one.
fn is_match(pattern: &str, name: &str) -> bool {
    let (pattern, name): (Vec<char>, Vec<char>) =
        (pattern.chars().collect(), name.chars().collect());
    // What follows the last `*` is tried further and further on in the name.
    let (mut at, mut here, mut star) = (0, 0, None);
    while here < name.len() {
        match pattern.get(at) {
            Some('*') => {
                star = Some((at, here));
                at += 1;
            }
            Some(c) if *c == '?' || *c == name[here] => {
                at += 1;
                here += 1;
            }
            _ => match star {
                Some((from, tried)) => {
                    star = Some((from, tried + 1));
                    at = from + 1;
                    here = tried + 1;
                }
                None => return false,
            },
        }
    }
    pattern[at..].iter().all(|c| *c == '*')
}

#[cfg(test)]
mod tests {
    use super::{is_match, matching};
    use crate::files::Files;

    #[test]
    fn a_star_stands_for_any_letters() {
        for (pattern, name, is) in [
            ("*", "north", true),
            ("n*h", "north", true),
            ("n*h", "northern", false),
            ("?orth", "north", true),
            ("*.toml", "plan.toml", true),
            ("p*n*.toml", "plan.toml", true),
            ("plan", "plan.toml", false),
        ] {
            assert_eq!(is_match(pattern, name), is, "{pattern} {name}");
        }
    }

    #[test]
    fn two_stars_stand_for_any_folders_and_hidden_ones_are_left_out() {
        let files = Files::memory(
            [
                "plan.toml",
                "a/plan.toml",
                "a/b/plan.toml",
                ".git/plan.toml",
                "a/cores.csv",
            ]
            .map(|name| (name, "")),
        );
        let found = |pattern| {
            let paths = matching(&files, pattern);
            paths
                .iter()
                .map(|path| path.display().to_string())
                .collect::<Vec<_>>()
                .join(" ")
        };
        assert_eq!(found("**/plan.toml"), "a/b/plan.toml a/plan.toml plan.toml");
        assert_eq!(found("*/plan.toml"), "a/plan.toml");
        assert_eq!(found("a/b/plan.toml"), "a/b/plan.toml");
    }
}
