//! Holds the source to the picture in `src/lib.rs` and DEVELOPERS.md: data flows one way, and each foreign crate has one border.

use std::fs;
use std::path::{Path, PathBuf};

/// Modules that everybody may import; they import only each other.
const FLOOR: &[&str] = &[
    "units",
    "analyte",
    "provenance",
    "remark",
    "text",
    "toml_tree",
    "files",
    "order_statistics",
];
/// Pure soil science and the thresholds: they import the floor only.
const SCIENCE: &[&str] = &["soil", "crop", "rulebook"];
/// The stages, left to right: a stage imports what stands left of it, and of another stage only its types.
/// `sampling` proposes further cores from the maps; no stage takes anything from it.
const STAGES: &[&str] = &[
    "plan",
    "intake",
    "field",
    "surface",
    "zones",
    "diagnosis",
    "rates",
    "choice",
    "trial",
    "past",
    "season",
    "deliver",
    "sampling",
];
/// Modules that import everything and that no stage imports; left to right as the stages. `main` is the program.
const ROOF: &[&str] = &["error", "engine", "farm", "desk", "cli", "main"];

/// A foreign crate or a deed, what gives it away in code, and the files (or folders) in which it is allowed.
const BORDERS: &[(&str, &[&str], &[&str])] = &[
    (
        "PROJ",
        &["proj::", "proj_sys::"],
        &["src/field/projection.rs"],
    ),
    ("kiddo", &["kiddo::"], &["src/surface/neighbours.rs"]),
    ("clap", &["clap::"], &["src/cli/"]),
    (
        "the web",
        &["axum::", "tokio::", "toml_edit::", "getrandom::"],
        &["src/desk/"],
    ),
    (
        "rusqlite",
        &["rusqlite::"],
        &[
            "src/deliver/geopackage/",
            "src/intake/formats/geopackage.rs",
        ],
    ),
    (
        "reading from disk",
        &[
            "fs::read",
            "fs::metadata",
            "fs::symlink_metadata",
            "File::open",
            "read_dir",
            ".exists()",
            ".is_dir()",
            ".metadata()",
            "canonicalize",
        ],
        &[
            "src/files/folder.rs",
            "src/cli/",
            "src/desk/home.rs",
            "src/desk/farm/farm_home.rs",
            "src/deliver/staging.rs",
            "src/deliver/recovery.rs",
            "src/deliver/ownership.rs",
            "src/deliver/explain.rs",
            "src/field/proj_database.rs",
        ],
    ),
    (
        "writing to disk",
        &[
            "fs::write",
            "fs::rename",
            "fs::create_dir",
            "fs::remove_",
            "File::create",
            "OpenOptions",
        ],
        &[
            "src/deliver/staging.rs",
            "src/deliver/recovery.rs",
            // The folder for the time being, which goes with the desk.
            "src/desk/farm/farm_home.rs",
        ],
    ),
];

const LONGEST_FILE: usize = 500;

/// The rooms of `intake`, in the order of the data: each may import those before it.
const INTAKE_ROOMS: &[&str] = &["formats", "columns", "table", "derive"];

// ------------------------------------------------------------------------------------------------ the rules

#[test]
fn no_module_imports_what_stands_right_of_it() {
    assert_none(
        sources()
            .iter()
            .flat_map(|(path, text)| import_violations(path, text)),
    );
}

#[test]
fn no_files_import_each_other_in_a_circle() {
    let imported = file_imports();
    assert!(imported.len() > 200, "the search has found next to nothing");
    let reaches_itself = |start: &String| {
        let mut seen: Vec<&String> = Vec::new();
        let mut waiting: Vec<&String> = imported[start].iter().collect();
        while let Some(next) = waiting.pop() {
            if !seen.contains(&next) {
                seen.push(next);
                waiting.extend(imported.get(next).into_iter().flatten());
            }
        }
        seen.contains(&start)
    };
    assert_none(
        imported
            .keys()
            .filter(|file| reaches_itself(file))
            .map(|file| format!("{file} imports {:?}", imported[file])),
    );
}

#[test]
fn the_rooms_of_intake_stand_in_the_order_of_the_data() {
    let room = |file: &String| {
        let name = file
            .strip_prefix("intake::")?
            .split("::")
            .next()?
            .to_owned();
        INTAKE_ROOMS.iter().position(|room| *room == name)
    };
    let imported = file_imports();
    let back = imported.iter().flat_map(|(file, others)| {
        let is_back = move |other: &&String| room(other) > room(file) && room(file).is_some();
        others
            .iter()
            .filter(is_back)
            .map(move |other| format!("{file} imports {other}"))
    });
    assert_none(back);
}

/// All files, each with the files that it imports, as module paths. A name that a `mod.rs` hands on counts as the file that it
/// comes from; one that a `mod.rs` holds itself counts as that `mod.rs`.
fn file_imports() -> std::collections::BTreeMap<String, Vec<String>> {
    let all: Vec<(String, String)> = sources()
        .into_iter()
        .filter(|(path, _)| !path.ends_with("_tests.rs") && path != "src/lib.rs")
        .map(|(path, text)| (path, code_only(&text)))
        .collect();
    let name_of = |path: &str| module_path(path).join("::");
    let names: Vec<String> = all.iter().map(|(path, _)| name_of(path)).collect();
    let handed_on = names_handed_on(&all);
    let file_of = |path: &Vec<String>| {
        let mut path = path.clone();
        for _ in 0..10 {
            let longest = (1..=path.len())
                .rev()
                .map(|length| path[..length].join("::"));
            let module = longest.clone().find(|name| names.contains(name))?;
            let known = module.split("::").count();
            match path
                .get(known)
                .and_then(|name| handed_on.get(&(module.clone(), name.clone())))
            {
                Some(from) => path = from.iter().chain(&path[known + 1..]).cloned().collect(),
                None => return Some(module),
            }
        }
        None
    };
    let of_file = |(path, code): &(String, String)| {
        let file = name_of(path);
        // A visibility such as `pub(in crate::rates)` imports nothing.
        let used = without_hand_ons(path, code).replace("(in crate::", "(in ");
        let mut found: Vec<String> = all_imports(&used, &module_path(path))
            .iter()
            .filter_map(file_of)
            .filter(|other| *other != file)
            .collect();
        found.sort();
        found.dedup();
        (file, found)
    };
    all.iter().map(of_file).collect()
}

/// What each `mod.rs` hands on: module and name, and the path that the name comes from.
fn names_handed_on(
    all: &[(String, String)],
) -> std::collections::BTreeMap<(String, String), Vec<String>> {
    let mut handed_on = std::collections::BTreeMap::new();
    for (path, code) in all.iter().filter(|(path, _)| path.ends_with("/mod.rs")) {
        let module = module_path(path);
        for (at, _) in code.match_indices("use ") {
            let before = &code[..at];
            let is_word = before.ends_with(|c: char| c.is_alphanumeric() || c == '_');
            if is_word {
                continue;
            }
            let line = &code[at + 4..];
            let line = &line[..line.find(';').unwrap_or(line.len())];
            let mut paths = Vec::new();
            let (rest, prefix) = match line.strip_prefix("crate::") {
                Some(rest) => (rest, &[][..]),
                None if line.starts_with("super::") => upwards(line, &module),
                None => (line.trim_start_matches("self::"), &module[..]),
            };
            unfold(rest, prefix, &mut paths);
            for from in paths {
                if let Some(name) = from.last() {
                    handed_on.insert((module.join("::"), name.clone()), from.clone());
                }
            }
        }
    }
    handed_on
}

/// The code of a `mod.rs` without its `pub use`: what it hands on it does not use itself.
fn without_hand_ons(path: &str, code: &str) -> String {
    if !path.ends_with("/mod.rs") {
        return code.to_owned();
    }
    let mut kept = String::new();
    let mut rest = code;
    while let Some(at) = rest.find("pub") {
        let (before, from) = rest.split_at(at);
        kept.push_str(before);
        let is_hand_on = from.split(';').next().is_some_and(|item| {
            let words: Vec<&str> = item.split_whitespace().collect();
            words.get(1) == Some(&"use")
                || (words.first().is_some_and(|w| w.starts_with("pub(")) && item.contains(" use "))
        });
        let end = if is_hand_on {
            from.find(';').map_or(from.len(), |end| end + 1)
        } else {
            3
        };
        if !is_hand_on {
            kept.push_str(&from[..end]);
        }
        rest = &from[end..];
    }
    kept.push_str(rest);
    kept
}

/// A path without its `super::`, and the module that it is seen from then.
fn upwards<'a, 'm>(path: &'a str, module: &'m [String]) -> (&'a str, &'m [String]) {
    let (mut rest, mut depth) = (path, module.len());
    while let Some(further) = rest.strip_prefix("super::") {
        (rest, depth) = (further, depth.saturating_sub(1));
    }
    (rest, &module[..depth])
}

#[test]
fn a_name_that_a_module_hands_on_is_the_file_it_comes_from() {
    let module =
        "mod b;\nuse super::e::F;\npub use b::{C, D};\npub(super) use crate::g::H;\nfn own() {}";
    let handed_on = names_handed_on(&[("src/a/mod.rs".to_owned(), module.to_owned())]);
    let from = |name: &str| {
        handed_on
            .get(&("a".to_owned(), name.to_owned()))
            .map(|path| path.join("::"))
    };
    let found = ["C", "D", "F", "H", "own"].map(from);
    let wanted = [
        Some("a::b::C"),
        Some("a::b::D"),
        Some("e::F"),
        Some("g::H"),
        None,
    ];
    assert_eq!(found, wanted.map(|path| path.map(str::to_owned)));
    let kept = without_hand_ons("src/a/mod.rs", module);
    assert!(
        !kept.contains("b::{") && !kept.contains("g::H") && kept.contains("e::F"),
        "{kept}"
    );
}

/// Paths from the crate's root, those by `super::` that stay inside a stage included.
fn all_imports(code: &str, module: &[String]) -> Vec<Vec<String>> {
    let mut found = imports(code, module);
    for (at, _) in code.match_indices("super::") {
        let before = &code[..at];
        if before.ends_with("super::")
            || before.ends_with(|c: char| c.is_alphanumeric() || c == '_')
        {
            continue;
        }
        let (rest, prefix) = upwards(&code[at..], module);
        unfold(rest, prefix, &mut found);
    }
    found
}

#[test]
fn every_foreign_crate_has_one_border() {
    assert_none(
        sources()
            .iter()
            .flat_map(|(path, text)| border_violations(path, text)),
    );
}

#[test]
fn no_source_file_is_longer_than_the_limit() {
    let long = |(path, text): &(String, String)| {
        let lines = text.lines().count();
        (lines > LONGEST_FILE).then(|| {
            format!(
                "{path}: {lines} lines, the limit is {LONGEST_FILE}; does it still have one job?"
            )
        })
    };
    assert_none(sources().iter().filter_map(long));
}

#[test]
fn no_file_names_a_path_of_somebodys_machine() {
    let files = files_below(
        &[
            "src", "tests", "benches", "samples", "docs", "scripts", "examples", "fuzz", ".ci",
        ],
        &[],
    );
    assert!(files.len() > 20, "the walk has found next to nothing");
    assert_none(
        files
            .iter()
            .flat_map(|(path, text)| machine_path_violations(path, text)),
    );
}

/// The readers of `src/plan/file.rs` and its neighbours take a key as the first text: `table.text("swath", ...)`.
#[test]
fn every_key_of_the_plan_is_in_its_guide() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let read = |file: &str| fs::read_to_string(root.join(file)).expect("the keys of the plan");
    let source = read("src/plan/file.rs")
        + &read("src/plan/people.rs")
        + &read("src/plan/supply.rs")
        + &read("src/plan/points_table.rs");
    let guide =
        fs::read_to_string(root.join("docs/the-plan-file.md")).expect("the guide to the plan");
    let keys = plan_keys(&source);
    assert!(
        keys.len() > 50,
        "the search has found next to nothing: {keys:?}"
    );
    let missing = |key: &&String| {
        !(guide.contains(&format!("`{key}`"))
            || guide.contains(&format!("{key} = "))
            || guide.contains(&format!("[{key}]")))
    };
    assert_none(
        keys.iter()
            .filter(missing)
            .map(|key| format!("docs/the-plan-file.md does not tell the key `{key}`")),
    );
}

fn plan_keys(source: &str) -> Vec<String> {
    const READERS: [&str; 11] = [
        "text",
        "texts",
        "number",
        "whole",
        "flag",
        "auto_or_number",
        "items",
        "table",
        "tables",
        "whole_number",
        "date",
    ];
    let mut keys = Vec::new();
    for (at, _) in source
        .match_indices("(\"")
        .chain(source.match_indices(", \""))
    {
        let before = source[..at]
            .rsplit(|c: char| !(c.is_alphanumeric() || c == '_'))
            .next()
            .unwrap_or_default();
        let is_reader = READERS.contains(&before)
            || source[..at].ends_with("&mut table")
            || source[..at].ends_with("&mut root");
        let key: String = source[at..]
            .split('"')
            .nth(1)
            .unwrap_or_default()
            .to_owned();
        if is_reader
            && !key.is_empty()
            && key.chars().all(|c| c.is_ascii_lowercase() || c == '_')
            && !keys.contains(&key)
        {
            keys.push(key);
        }
    }
    keys
}

// ------------------------------------------------------------------------------------------------ tests that the rules can fail

#[test]
fn an_import_that_points_right_is_found() {
    let found = |path: &str, text: &str| import_violations(path, text).len();
    assert_eq!(found("src/field/grid.rs", "use crate::zones::Zones;"), 1);
    assert_eq!(
        found(
            "src/field/grid.rs",
            "use crate::{\n    units::Length,\n    zones::{Zone, Zones},\n};"
        ),
        2
    );
    assert_eq!(
        found(
            "src/plan/mod.rs",
            "fn f() -> crate::rates::Recipe { todo() }"
        ),
        1
    );
    assert_eq!(found("src/soil/lime.rs", "use crate::rulebook::Factor;"), 1);
    assert_eq!(found("src/units/mod.rs", "use crate::soil::Lime;"), 1);
    assert_eq!(found("src/provenance.rs", "use super::plan::Settings;"), 1);
    assert_eq!(
        found(
            "src/intake/csv/cell.rs",
            "use super::super::super::field::Field;"
        ),
        1
    );
    assert_eq!(found("src/rates/mod.rs", "use crate::cli::Arguments;"), 1);
    assert_eq!(
        found("src/newcomer/mod.rs", ""),
        1,
        "a module without a place in the order"
    );
}

#[test]
fn a_free_function_of_another_stage_is_found_and_a_type_is_not() {
    assert_eq!(
        import_violations("src/zones/mod.rs", "use crate::surface::interpolate;").len(),
        1
    );
    assert_eq!(
        import_violations(
            "src/zones/mod.rs",
            "let s = crate::surface::interpolate(a, b);"
        )
        .len(),
        1
    );
    assert_eq!(
        import_violations("src/zones/mod.rs", "use crate::surface::*;").len(),
        1
    );
    assert_eq!(
        import_violations(
            "src/zones/mod.rs",
            "use crate::surface::{Map, Surfaces}; let k = crate::field::Grid::new(1);"
        ),
        Vec::<String>::new()
    );
    assert_eq!(
        import_violations(
            "src/zones/mod.rs",
            "use crate::soil::lime; use crate::units::decimal;"
        ),
        Vec::<String>::new()
    );
}

#[test]
fn words_in_comments_and_texts_are_not_imports() {
    let text = "//! See [`crate::deliver::StageValues`].\n/* crate::rates::Rate */\nconst A: &str = \"crate::zones::Zones\";\nconst B: &str = r#\"crate::zones\"#;\nconst Q: char = '\"';\n";
    assert_eq!(
        import_violations("src/plan/mod.rs", text),
        Vec::<String>::new()
    );
}

#[test]
fn a_crossed_border_is_found() {
    assert_eq!(
        border_violations("src/zones/mod.rs", "use kiddo::ImmutableKdTree;").len(),
        1
    );
    assert_eq!(
        border_violations("src/intake/mod.rs", "let p = proj::Proj::new(a)?;").len(),
        1
    );
    assert_eq!(
        border_violations("src/main.rs", "use clap::Parser;").len(),
        1
    );
    assert_eq!(
        border_violations("src/rates/mod.rs", "std::fs::write(path, bytes)?;").len(),
        1
    );
    assert_eq!(
        border_violations("src/surface/neighbours.rs", "use kiddo::ImmutableKdTree;"),
        Vec::<String>::new()
    );
    assert_eq!(
        border_violations("src/field/mod.rs", "use crate::field::reproj::Shape;"),
        Vec::<String>::new()
    );
}

#[test]
fn a_machine_path_is_found() {
    let planted = format!(
        "let file = \"{}\";",
        ["", "home", "somebody", "cores.csv"].join("/")
    );
    assert_eq!(
        machine_path_violations("src/plan/mod.rs", &planted).len(),
        1
    );
}

// ------------------------------------------------------------------------------------------------ how they are checked

fn assert_none(found: impl Iterator<Item = String>) {
    let found: Vec<String> = found.collect();
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

fn import_violations(path: &str, text: &str) -> Vec<String> {
    let module = module_path(path);
    let Some(own) = module.first() else {
        return Vec::new();
    };
    if !is_known(own) {
        return vec![format!(
            "{path}: the module \"{own}\" has no place in the order of tests/architecture.rs"
        )];
    }
    let code = code_only(text);
    let mut found = Vec::new();
    for import in imports(&code, &module) {
        let Some(target) = import
            .first()
            .filter(|target| is_known(target) && *target != own)
        else {
            continue;
        };
        let last = import.last().map_or("", String::as_str);
        if !may_import(own, target) {
            found.push(format!(
                "{path}: {own} must not import {}",
                import.join("::")
            ));
        } else if STAGES.contains(&target.as_str())
            && !ROOF.contains(&own.as_str())
            && !names_a_type(&import[1..])
        {
            found.push(format!("{path}: {own} takes \"{last}\" of {target}; of another stage only the types are for taking"));
        }
    }
    found
}

fn is_known(module: &str) -> bool {
    [FLOOR, SCIENCE, STAGES, ROOF]
        .iter()
        .any(|group| group.contains(&module))
}

fn may_import(own: &str, target: &str) -> bool {
    let place = |name: &str| STAGES.iter().position(|stage| *stage == name);
    match (own, target) {
        ("cli" | "main", _) => true,
        (_, "cli" | "main") => false,
        ("desk", _) => true,
        (_, "desk") => false,
        // The sum of all errors holds the farm's too.
        ("farm", _) | ("error", "farm") => true,
        (_, "farm") => false,
        ("engine", _) => true,
        (_, "engine") => false,
        ("error", _) => true,
        (_, "error") => false,
        _ if FLOOR.contains(&target) => true,
        _ if SCIENCE.contains(&target) => place(own).is_some(),
        _ => matches!((place(own), place(target)), (Some(own), Some(target)) if target < own),
    }
}

/// Whether one of the segments starts with a capital: a type, a constant or something of theirs.
fn names_a_type(segments: &[String]) -> bool {
    segments
        .iter()
        .any(|segment| segment.starts_with(char::is_uppercase))
}

fn border_violations(path: &str, text: &str) -> Vec<String> {
    let code = code_only(text);
    let names_it = |sign: &str| {
        code.match_indices(sign).any(|(at, _)| {
            !code[..at].ends_with(|before: char| before.is_alphanumeric() || before == '_')
        })
    };
    BORDERS
        .iter()
        .filter(|(_, signs, allowed)| {
            !allowed.iter().any(|home| path.starts_with(home))
                && signs.iter().any(|sign| names_it(sign))
        })
        .filter(|(what, ..)| !(path.ends_with("_tests.rs") && what.ends_with("disk")))
        .map(|(what, _, allowed)| format!("{path}: {what} belongs in {}", allowed.join(" or ")))
        .collect()
}

fn machine_path_violations(path: &str, text: &str) -> Vec<String> {
    let roots: Vec<String> = ["work", "tmp", "root", "home"]
        .iter()
        .map(|root| format!("/{root}/"))
        .collect();
    let hit = |line: &str| {
        roots.iter().any(|root| {
            line.match_indices(root.as_str())
                .any(|(at, _)| !line[..at].ends_with(char::is_alphanumeric))
        })
    };
    text.lines()
        .enumerate()
        .filter(|(_, line)| hit(line))
        .map(|(i, line)| format!("{path}:{}: {}", i + 1, line.trim()))
        .collect()
}

/// `src/field/grid.rs` is `[field, grid]`; `src/field/mod.rs` is `[field]`; `src/lib.rs` is the root.
fn module_path(path: &str) -> Vec<String> {
    let inner = path.trim_start_matches("src/").trim_end_matches(".rs");
    let mut parts: Vec<String> = inner.split('/').map(str::to_owned).collect();
    if matches!(parts.last().map(String::as_str), Some("mod" | "lib")) {
        parts.pop();
    }
    parts
}

/// The code without comments, texts and characters, each replaced by a blank.
fn code_only(text: &str) -> String {
    let mut code = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let skip = literal_or_comment(rest);
        if skip > 0 {
            code.push(' ');
            rest = &rest[skip..];
        } else {
            code.push(first);
            rest = &rest[first.len_utf8()..];
        }
    }
    code
}

/// How many bytes the comment, text or character at the start takes; 0 where there is none.
fn literal_or_comment(rest: &str) -> usize {
    let until = |end: &str, from: usize| {
        rest[from..]
            .find(end)
            .map_or(rest.len(), |at| from + at + end.len())
    };
    if rest.starts_with("//") {
        return rest.find('\n').unwrap_or(rest.len());
    }
    if rest.starts_with("/*") {
        return until("*/", 2);
    }
    if let Some(raw) = rest.strip_prefix('r') {
        let hashes = raw.len() - raw.trim_start_matches('#').len();
        if raw[hashes..].starts_with('"') {
            return until(&format!("\"{}", "#".repeat(hashes)), hashes + 2);
        }
    }
    if let Some(inner) = rest.strip_prefix('"') {
        let mut escaped = false;
        let end = inner.char_indices().find(|(_, c)| {
            let ends = *c == '"' && !escaped;
            escaped = *c == '\\' && !escaped;
            ends
        });
        return end.map_or(rest.len(), |(at, _)| at + 2);
    }
    if rest.starts_with("'\\") {
        return until("'", 3);
    }
    let mut chars = rest.char_indices();
    if chars.next().is_some_and(|(_, c)| c == '\'')
        && chars.next().is_some()
        && chars.next().is_some_and(|(_, c)| c == '\'')
    {
        return chars.next().map_or(rest.len(), |(at, _)| at);
    }
    0
}

/// All paths that start at the crate's root, by `crate::` or by climbing with `super::`, groups unfolded, the root left out.
fn imports(code: &str, module: &[String]) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    let is_start = |at: usize| {
        !code[..at]
            .ends_with(|before: char| before.is_alphanumeric() || before == '_' || before == ':')
    };
    for (at, _) in code
        .match_indices("crate::")
        .filter(|(at, _)| is_start(*at))
    {
        unfold(&code[at + "crate::".len()..], &[], &mut found);
    }
    for (at, _) in code
        .match_indices("super::")
        .filter(|(at, _)| is_start(*at))
    {
        let (rest, prefix) = upwards(&code[at..], module);
        if prefix.is_empty() {
            unfold(rest, &[], &mut found);
        }
    }
    found
}

/// Reads one path, or a group of paths in braces, behind a prefix. Returns what is left of the text.
fn unfold<'a>(text: &'a str, prefix: &[String], found: &mut Vec<Vec<String>>) -> &'a str {
    let text = text.trim_start();
    if let Some(mut rest) = text.strip_prefix('{') {
        loop {
            rest = unfold(rest, prefix, found).trim_start();
            match rest.strip_prefix(',') {
                Some(further) if !further.trim_start().starts_with('}') => rest = further,
                _ => {
                    return rest
                        .trim_start_matches([',', ' ', '\n'])
                        .strip_prefix('}')
                        .unwrap_or(rest);
                }
            }
        }
    }
    let end = text
        .find(|c: char| !(c.is_alphanumeric() || c == '_' || c == '*'))
        .unwrap_or(text.len());
    let path: Vec<String> = prefix
        .iter()
        .cloned()
        .chain([text[..end].to_owned()])
        .collect();
    if let Some(rest) = text[end..].strip_prefix("::") {
        return unfold(rest, &path, found);
    }
    found.push(path);
    let rest = text[end..].trim_start();
    rest.strip_prefix("as ").map_or(rest, |named| {
        named.trim_start_matches(|c: char| c.is_alphanumeric() || c == '_' || c == ' ')
    })
}

fn sources() -> Vec<(String, String)> {
    let files = files_below(&["src"], &["rs"]);
    assert!(files.len() > 10, "the walk has found next to nothing");
    files
}

/// Text files below some folders of the project, by path, sorted. Folders that do not exist have none.
fn files_below(folders: &[&str], extensions: &[&str]) -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut waiting: Vec<PathBuf> = folders.iter().map(|folder| root.join(folder)).collect();
    let mut files = Vec::new();
    while let Some(folder) = waiting.pop() {
        for entry in fs::read_dir(&folder).into_iter().flatten().flatten() {
            let path = entry.path();
            let wanted = extensions.is_empty()
                || path
                    .extension()
                    .is_some_and(|e| extensions.iter().any(|x| e == *x));
            if path.is_dir() {
                waiting.push(path);
            } else if let (true, Ok(text)) = (wanted, fs::read_to_string(&path)) {
                let name = path
                    .strip_prefix(root)
                    .unwrap_or(&path)
                    .to_string_lossy()
                    .replace('\\', "/");
                files.push((name, text));
            }
        }
    }
    files.sort();
    files
}
