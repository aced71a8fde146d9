//! The words that people read: retired phrases do not come back, and no key, path or coordinate-system text of the machine stands among them.

use std::fs;
use std::path::{Path, PathBuf};

use crate::program::run_in;

/// A phrase that was read and replaced, and what stands for it now.
const RETIRED: &[(&str, &str)] = &[
    ("put nowhere", "not recommended anywhere"),
    ("please look", "check before you drive"),
    ("asked for in all", "full need"),
    ("is not held against", "could not be judged"),
    ("held against", "compared with"),
    ("doubt of the maps", "uncertainty of the maps"),
    ("shrinks the doubt", "cuts the uncertainty"),
    ("% better than the mean", "% better than the field average"),
    (
        "seedlings thirst",
        "salt keeps seedlings from taking up water",
    ),
    ("its neighbours say", "neighbours suggest"),
    ("in the bank of the soil", "builds soil reserves"),
    ("closes a product", "product held back until this is fixed"),
    ("this limit closes", "product held back until this is fixed"),
    ("mixing room", "tank and shed"),
    (
        "cheapest fix that makes sense",
        "the fix that relieves most for its cost and effort",
    ),
    ("mind the ", "watch the, protect the"),
    ("reckoned", "calculated"),
    ("the test that tells", "the test that would show it"),
    ("way out of it", "help"),
    (" mended", "fixed"),
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// All files with one of these endings below a folder, sorted.
fn files_below(folder: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let ending = path
                .extension()
                .and_then(|e| e.to_str())
                .unwrap_or_default();
            if path.is_dir() {
                folders.push(path);
            } else if endings.contains(&ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

#[test]
fn retired_phrases_do_not_come_back() {
    let mut files = files_below(&root().join("src"), &["rs", "toml", "js"]);
    files.extend(files_below(&root().join("docs"), &["md"]));
    files.extend(files_below(&root().join("samples"), &["md", "toml"]));
    files.extend(["README.md", "DEVELOPERS.md"].map(|name| root().join(name)));
    assert!(files.len() > 300, "the files were not found");
    let mut found = Vec::new();
    for file in &files {
        let text = fs::read_to_string(file).unwrap().to_lowercase();
        for (number, line) in text.lines().enumerate() {
            for (phrase, better) in RETIRED.iter().filter(|(phrase, _)| line.contains(phrase)) {
                found.push(format!(
                    "{}:{}: \"{phrase}\": {better}",
                    file.display(),
                    number + 1
                ));
            }
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// Whether a word with an underscore is one that the reader has to write or has written: a file, a key of the plan, a column of the user's own file.
fn is_the_readers_own(word: &str, plan: &Path) -> bool {
    const FILES: [&str; 9] = [
        ".geojson", ".csv", ".toml", ".txt", ".json", ".tif", ".zip", ".shp", ".gpkg",
    ];
    let guide = root().join("docs/the-plan-file.md");
    let cores = root().join(plan).with_file_name("cores.csv");
    let known = [guide.as_path(), &root().join(plan), &cores]
        .map(|file| fs::read_to_string(file).unwrap())
        .concat();
    FILES.iter().any(|ending| word.contains(ending))
        || known.to_lowercase().contains(&word.to_lowercase())
}

fn what_people_read(plan: &str) -> Vec<(&'static str, String)> {
    let out = tempfile::tempdir().unwrap();
    let folder = out.path().join("out");
    let ran = run_in(root(), &["plan", plan, "--out", folder.to_str().unwrap()]);
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let read = |name: &str| fs::read_to_string(folder.join(name)).unwrap();
    vec![
        ("report.txt", read("report.txt")),
        ("details.txt", read("details.txt")),
        ("mix.txt", read("mix.txt")),
    ]
}

#[test]
fn no_key_no_path_and_no_coordinate_system_text_stands_in_what_people_read() {
    let mut found = Vec::new();
    for plan in [
        "samples/alder-flat/plan.toml",
        "samples/alder-flat/plan-metric.toml",
        "samples/open-field/plan.toml",
    ] {
        for (name, text) in what_people_read(plan) {
            for (number, line) in text.lines().enumerate() {
                let words = line.split(|c: char| c.is_whitespace() || "()[],;:\"'".contains(c));
                for word in words {
                    let is_key = word.contains('_') && !is_the_readers_own(word, Path::new(plan));
                    if is_key
                        || word.contains("PROJCRS")
                        || word.contains("PROJCS")
                        || word.starts_with('/') && word.len() > 1
                    {
                        found.push(format!("{plan}, {name}, line {}: {word}", number + 1));
                    }
                }
            }
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn lines_for_a_terminal_and_the_text_report_keep_to_80_columns() {
    let wide: Vec<String> = [
        "samples/alder-flat/plan.toml",
        "samples/open-field/plan.toml",
    ]
    .into_iter()
    .flat_map(|plan| what_people_read(plan).into_iter().take(1))
    .flat_map(|(_, text)| text.lines().map(str::to_owned).collect::<Vec<_>>())
    .filter(|line| line.chars().count() > 80)
    .collect();
    assert!(wide.is_empty(), "{}", wide.join("\n"));
}
