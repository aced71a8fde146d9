//! What every command prints with `--json` against its schema in `docs/schema`, by the `jsonschema` crate.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::program::run_in;

fn schema(name: &str) -> Value {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("docs/schema/{name}.schema.json"));
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}

fn faults(schema: &Value, value: &Value) -> Vec<String> {
    let validator = jsonschema::validator_for(schema).unwrap();
    validator
        .iter_errors(value)
        .map(|error| format!("{}: {error}", error.instance_path()))
        .collect()
}

/// A copy of a sample's files.
fn sample(name: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("samples")
        .join(name);
    for file in fs::read_dir(from).unwrap().map(|file| file.unwrap().path()) {
        if file.is_file() {
            fs::copy(&file, folder.path().join(file.file_name().unwrap())).unwrap();
        }
    }
    folder
}

#[test]
fn every_command_prints_what_its_schema_says() {
    let field = sample("alder-flat");
    fs::write(field.path().join("own.toml"), "").unwrap();
    let commands: [(&str, &[&str]); 9] = [
        ("check", &["check", "plan.toml"]),
        ("plan", &["plan", "plan.toml", "--out", "out"]),
        ("explain", &["explain", "out", "--zone", "1"]),
        (
            "cores",
            &["cores", "plan.toml", "--add", "3", "--out", "more.geojson"],
        ),
        (
            "start",
            &[
                "start",
                "new",
                "--boundary",
                "boundary.geojson",
                "--points",
                "cores.csv",
            ],
        ),
        ("rulebook-show", &["rulebook", "show", "--only", "salt"]),
        ("rulebook-check", &["rulebook", "check", "own.toml"]),
        ("rulebook-regions", &["rulebook", "regions"]),
        ("failure", &["check", "nowhere.toml"]),
    ];
    for (name, arguments) in commands {
        let arguments: Vec<&str> = arguments.iter().copied().chain(["--json"]).collect();
        let ran = run_in(field.path(), &arguments);
        let (schema, printed) = (schema(name), ran.json());
        assert_eq!(faults(&schema, &printed), Vec::<String>::new(), "{name}");
        assert_eq!(printed["exit_code"], ran.code, "{name}");
        for key in schema["required"].as_array().unwrap() {
            let mut without = printed.clone();
            without
                .as_object_mut()
                .unwrap()
                .remove(key.as_str().unwrap());
            assert!(
                !faults(&schema, &without).is_empty(),
                "{name} without {key}"
            );
        }
    }
}

#[test]
fn the_numbers_of_a_check_are_numbers() {
    let field = sample("alder-flat");
    let printed = run_in(field.path(), &["check", "plan.toml", "--json"]).json();
    let columns = printed["columns"].as_array().unwrap();
    assert!(columns.len() > 20, "{} columns", columns.len());
    for column in columns {
        assert!(
            column["n"].is_u64() && column["minimum"].is_number(),
            "{column}"
        );
    }
    assert!(columns.iter().any(|column| column["basis"] == "derived"));
    assert!(columns.iter().any(|column| column["basis"] == "said"));
}

#[test]
fn the_commands_of_a_farm_print_what_their_schemas_say() {
    let farm = crate::farm_made::farm_of(3);
    std::fs::remove_file(farm.path().join("f001/cores.csv")).unwrap();
    let commands: [(&str, &[&str]); 4] = [
        ("farm-check", &["check", "farm.toml"]),
        ("farm", &["farm", "farm.toml", "--out", "out"]),
        (
            "farm-part",
            &["farm", "farm.toml", "--out", "part", "--part", "1/1"],
        ),
        ("farm", &["farm", "join", "part"]),
    ];
    for (name, arguments) in commands {
        let arguments: Vec<&str> = arguments.iter().copied().chain(["--json"]).collect();
        let ran = farm.run(&arguments);
        let (schema, printed) = (schema(name), ran.json());
        assert_eq!(faults(&schema, &printed), Vec::<String>::new(), "{name}");
        assert_eq!(printed["exit_code"], ran.code, "{name}");
        for key in schema["required"].as_array().unwrap() {
            let mut without = printed.clone();
            without
                .as_object_mut()
                .unwrap()
                .remove(key.as_str().unwrap());
            assert!(
                !faults(&schema, &without).is_empty(),
                "{name} without {key}"
            );
        }
    }
}
