//! Invented farms for tests: fields of the sample's maker, with plans that are whole or that lean on a farm file.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use crate::program::Folder;

#[path = "../../samples/three-alders/generate.rs"]
mod generate;

pub use generate::{another, fields as generated};

/// What a plan of the maker lacks.
pub const TOP: &str = "season = 2027\nunits = \"us\"\n";
/// Tables for all fields.
pub const TABLES: &str =
    "\n[grid]\ncell = \"10 m\"\n\n[zones]\ncount = \"auto\"\nsmallest = \"1 ac\"\n";

/// The text of a farm file.
pub fn farm_file(fields: &str, rest: &str) -> String {
    format!("farm = \"Made Up\"\nfields = {fields}\n{TOP}{TABLES}{rest}")
}

/// Writes files below a folder.
pub fn write_all(folder: &Path, files: impl IntoIterator<Item = (String, String)>) {
    for (name, text) in files {
        let path = folder.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
}

/// A farm of so many fields with a farm file that they lean on.
pub fn farm_of(count: u32) -> Folder {
    let folder = Folder::with(&[("farm.toml", &farm_file("[\"*/plan.toml\"]", ""))]);
    write_all(
        folder.path(),
        (0..count).flat_map(|number| another(number).files()),
    );
    folder
}

/// The same with whole plans and a farm file that says nothing for them.
pub fn farm_of_whole_plans(count: u32) -> Folder {
    let folder = Folder::with(&[(
        "farm.toml",
        "farm = \"Made Up\"\nfields = [\"*/plan.toml\"]\n",
    )]);
    write_all(
        folder.path(),
        (0..count)
            .flat_map(|number| another(number).files())
            .map(whole),
    );
    folder
}

/// A file with a whole plan in place of one that leans on a farm file.
pub fn whole((name, text): (String, String)) -> (String, String) {
    if name.ends_with("plan.toml") {
        (name, format!("{TOP}{text}{TABLES}"))
    } else {
        (name, text)
    }
}

/// All files below a folder that are not hidden, by name. What a run took is left out of its record.
pub fn bytes_below(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(&next).unwrap() {
            let path = entry.unwrap().path();
            let name = path
                .strip_prefix(folder)
                .unwrap()
                .to_string_lossy()
                .into_owned();
            if path.file_name().unwrap().to_string_lossy().starts_with('.') {
                continue;
            }
            if path.is_dir() {
                folders.push(path);
            } else {
                let bytes = fs::read(&path).unwrap();
                found.insert(
                    name.clone(),
                    if name.ends_with("run.json") {
                        without_timings(&bytes)
                    } else {
                        bytes
                    },
                );
            }
        }
    }
    found
}

fn without_timings(bytes: &[u8]) -> Vec<u8> {
    let mut record: serde_json::Value = serde_json::from_slice(bytes).unwrap();
    assert!(record.as_object_mut().unwrap().remove("timings").is_some());
    serde_json::to_vec(&record).unwrap()
}

/// The same files with the same bytes; says which differ.
pub fn assert_same(one: &BTreeMap<String, Vec<u8>>, other: &BTreeMap<String, Vec<u8>>, what: &str) {
    let names = |files: &BTreeMap<String, Vec<u8>>| files.keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(one), names(other), "{what}");
    let differ: Vec<&String> = one
        .keys()
        .filter(|name| one[*name] != other[*name])
        .collect();
    assert!(differ.is_empty(), "{what}: {differ:?}");
}
