//! `farm`: every field as by itself, on any number of threads, in parts, and again.

use std::fs;

use crate::farm_made::{
    assert_same, bytes_below, farm_file, farm_of, farm_of_whole_plans, write_all,
};
use crate::program::{Folder, run_in};

/// A farm into `out`; its summary.
fn farm(folder: &Folder, more: &[&str]) -> serde_json::Value {
    let arguments: Vec<&str> = ["farm", "farm.toml", "--json"]
        .iter()
        .chain(more)
        .copied()
        .collect();
    let ran = folder.run(&arguments);
    assert!(ran.code < 2, "{}{}", ran.stdout, ran.stderr);
    ran.json()
}

#[test]
fn a_farm_gives_each_field_the_files_that_plan_gives_it() {
    let folder = farm_of_whole_plans(4);
    let summary = farm(&folder, &["--out", "out", "--files", "all"]);
    assert_eq!(summary["with_result"], 4);
    for field in ["f000", "f001", "f002", "f003"] {
        let plan = format!("{field}/plan.toml");
        let ran = folder.run(&["plan", &plan, "--out", "single", "--quiet"]);
        assert!(ran.code < 2, "{}", ran.stderr);
        let single = bytes_below(&folder.path().join("single"));
        assert!(single.len() > 20, "{} files", single.len());
        let own = bytes_below(&folder.path().join("out/fields").join(field));
        assert_same(&single, &own, field);
    }
}

#[test]
fn what_a_farm_file_says_is_as_if_the_plan_said_it() {
    let (leaning, whole) = (farm_of(2), farm_of_whole_plans(2));
    for folder in [&leaning, &whole] {
        farm(folder, &["--out", "out", "--files", "rates"]);
    }
    for file in [
        "prescription.geojson",
        "report.txt",
        "mix.csv",
        "controller/taskdata.zip",
    ] {
        let of =
            |folder: &Folder| fs::read(folder.path().join("out/fields/f001").join(file)).unwrap();
        assert!(of(&leaning) == of(&whole), "{file}");
    }
    // The record names the farm file as an input.
    let record = fs::read_to_string(leaning.path().join("out/fields/f001/run.json")).unwrap();
    let record: serde_json::Value = serde_json::from_str(&record).unwrap();
    let inputs = record["inputs"].as_array().unwrap();
    assert!(
        inputs.iter().any(|input| input["path"] == "../farm.toml"),
        "{inputs:?}"
    );
}

#[test]
fn threads_parts_and_the_folder_that_it_is_called_from_change_no_byte() {
    let folder = farm_of(7);
    farm(&folder, &["--out", "one", "--threads", "1"]);
    let whole = bytes_below(&folder.path().join("one"));
    assert!(whole.contains_key("zones.parquet") && whole.contains_key("farm.json"));
    farm(&folder, &["--out", "four", "--threads", "4"]);
    assert_same(
        &whole,
        &bytes_below(&folder.path().join("four")),
        "4 threads",
    );

    for part in ["3/3", "1/3"] {
        let summary = farm(&folder, &["--out", "parts", "--part", part]);
        assert_eq!(summary["of"], 3);
    }
    let early = folder.run(&["farm", "join", "parts"]);
    assert_eq!(early.code, 2, "{}", early.stderr);
    assert!(early.stderr.contains("part 2/3"), "{}", early.stderr);
    assert!(!folder.path().join("parts/zones.parquet").exists());
    farm(&folder, &["--out", "parts", "--part", "2/3"]);
    // Safe to run twice: nothing is done again.
    let again = farm(&folder, &["--out", "parts", "--part", "2/3"]);
    assert_eq!(again["fields"], again["kept"]);
    let joined = folder.run(&["farm", "join", "parts"]);
    assert!(joined.code < 2, "{}", joined.stderr);
    let mut parts = bytes_below(&folder.path().join("parts"));
    let (mut one, manifest) = (whole.clone(), "parts/manifest.json");
    assert!(one.remove(manifest).is_some() && parts.remove(manifest).is_some());
    assert_same(&one, &parts, "three parts");

    let path = folder.path().join("farm.toml");
    let elsewhere = tempfile::tempdir().unwrap();
    let ran = run_in(
        elsewhere.path(),
        &["farm", &path.to_string_lossy(), "--out", "out"],
    );
    assert!(ran.code < 2, "{}", ran.stderr);
    assert_same(
        &whole,
        &bytes_below(&elsewhere.path().join("out")),
        "from elsewhere",
    );
}

#[test]
fn resume_works_again_on_what_has_changed_and_on_nothing_else() {
    let folder = farm_of(6);
    farm(&folder, &["--out", "out"]);
    let first = bytes_below(&folder.path().join("out"));
    let resumed = farm(&folder, &["--out", "out", "--resume"]);
    assert_eq!(
        (&resumed["kept"], &resumed["fields"]),
        (&6.into(), &6.into())
    );
    assert_same(
        &first,
        &bytes_below(&folder.path().join("out")),
        "nothing changed",
    );

    let cores = folder.path().join("f003/cores.csv");
    let text = fs::read_to_string(&cores).unwrap();
    fs::write(&cores, text.replacen(",5.", ",6.", 1)).unwrap();
    assert_eq!(farm(&folder, &["--out", "out", "--resume"])["kept"], 5);
    farm(&folder, &["--out", "fresh"]);
    let fresh = bytes_below(&folder.path().join("fresh"));
    assert_same(
        &fresh,
        &bytes_below(&folder.path().join("out")),
        "one field changed",
    );

    let file = folder.path().join("farm.toml");
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, text.replace("\"1 ac\"", "\"2 ac\"")).unwrap();
    assert_eq!(farm(&folder, &["--out", "out", "--resume"])["kept"], 0);

    // A field more moves no other.
    write_all(folder.path(), crate::farm_made::another(40).files());
    let more = farm(&folder, &["--out", "out", "--resume"]);
    assert_eq!((&more["kept"], &more["fields"]), (&6.into(), &7.into()));
    // With files of the fields, a field whose folder is gone is worked on again.
    farm(&folder, &["--out", "all", "--files", "rates"]);
    fs::remove_dir_all(folder.path().join("all/fields/f002")).unwrap();
    assert_eq!(
        farm(&folder, &["--out", "all", "--files", "rates", "--resume"])["kept"],
        6
    );
    assert!(folder.path().join("all/fields/f002/run.json").is_file());
}

#[test]
fn fields_come_from_a_table_of_plan_files_or_of_boundary_and_points() {
    let folder = farm_of(3);
    farm(&folder, &["--out", "by_pattern"]);
    let table = "field_id,plan_file,owner\nf000,f000/plan.toml,x\nf001,f001/plan.toml,x\nf002,f002/plan.toml,x\n";
    let by_table = farm_file("{ table = \"fields.csv\" }", "");
    write_all(
        folder.path(),
        [("fields.csv", table), ("farm.toml", &by_table)]
            .map(|(name, text)| (name.to_owned(), text.to_owned())),
    );
    let ran = folder.run(&["farm", "farm.toml", "--out", "by_table"]);
    assert!(
        ran.code < 2 && ran.stderr.contains("owner"),
        "{}",
        ran.stderr
    );
    for file in ["zones.parquet", "fields.parquet"] {
        let of = |out: &str| fs::read(folder.path().join(out).join(file)).unwrap();
        assert!(of("by_table") == of("by_pattern"), "{file}");
    }

    // The same fields without plan files: what their points hold stands once, in the farm file.
    let plan = fs::read_to_string(folder.path().join("f000/plan.toml")).unwrap();
    let columns = plan.split("[points.columns]").nth(1).unwrap();
    let points = format!(
        "\n[points]\nkind = \"cores\"\ncrs = \"EPSG:4326\"\nx = \"lon\"\ny = \"lat\"\nid = \"core\"\ndepth = \"0-6 in\"\nignore = [\"origin\"]\n[points.columns]{columns}"
    );
    let table = "field_id;field;crop;boundary;points\nf000;Field 0;corn;f000/boundary.geojson;f000/cores.csv\nf001;Field 1;corn;f001/boundary.geojson;f001/cores.csv\nf002;Field 2;corn;f002/boundary.geojson;f002/cores.csv\n";
    write_all(
        folder.path(),
        [
            ("fields.csv".to_owned(), table.to_owned()),
            ("farm.toml".to_owned(), by_table + &points),
        ],
    );
    farm(&folder, &["--out", "by_parts"]);
    let of = |out: &str| fs::read(folder.path().join(out).join("zones.parquet")).unwrap();
    assert!(of("by_parts") == of("by_pattern"));
}

#[test]
fn a_folder_with_plans_is_a_farm() {
    let folder = farm_of_whole_plans(2);
    fs::remove_file(folder.path().join("farm.toml")).unwrap();
    let ran = folder.run(&["farm", ".", "--out", "out", "--json"]);
    assert!(ran.code < 2, "{}", ran.stderr);
    assert_eq!(ran.json()["with_result"], 2);
}

#[test]
fn spoilt_fields_are_told_and_their_neighbours_do_not_notice() {
    let folder = farm_of(8);
    farm(&folder, &["--out", "good", "--files", "rates"]);
    let at = |name: &str| folder.path().join(name);
    let change = |name: &str, from: &str, to: &str| {
        let text = fs::read_to_string(at(name)).unwrap();
        assert!(text.contains(from));
        fs::write(at(name), text.replace(from, to)).unwrap();
    };
    change("f001/plan.toml", "crop ", "corp ");
    let boundary = fs::read_to_string(at("f002/boundary.geojson")).unwrap();
    fs::write(at("f002/boundary.geojson"), &boundary[..100]).unwrap();
    change("f004/boundary.geojson", "[-83", "[-583");
    let cores = fs::read_to_string(at("f005/cores.csv")).unwrap();
    fs::write(at("f005/cores.csv"), &cores[..cores.len() - 37]).unwrap();
    fs::remove_file(at("f007/cores.csv")).unwrap();
    let summary = farm(&folder, &["--out", "bad", "--files", "rates"]);
    assert_eq!(
        (&summary["with_result"], &summary["without_result"]),
        (&3.into(), &5.into())
    );
    assert_eq!(summary["exit_code"], 1);
    let table = fs::read_to_string(at("bad/problems.csv")).unwrap();
    let rows: Vec<&str> = table.lines().collect();
    assert_eq!(rows[0], "field_id,plan,code,what,file,row,column,way_out");
    for (id, words) in [
        ("f001", "did you mean \"\"crop\"\"?"),
        ("f002", "not readable as GeoJSON"),
        ("f004", "is not longitude and latitude"),
        ("f005", "cut off"),
        ("f007", "there is no file \"\"cores.csv\"\""),
    ] {
        let start = format!("{id},{id}/plan.toml,2,");
        let told = rows
            .iter()
            .any(|row| row.starts_with(&start) && row.contains(words));
        assert!(told, "{id}: {table}");
        assert!(!at("bad/fields").join(id).exists());
    }
    for id in ["f000", "f003", "f006"] {
        let of = |out: &str| bytes_below(&at(out).join("fields").join(id));
        assert_same(&of("good"), &of("bad"), id);
    }
    // Mended and gone on with: as if nothing had been wrong.
    write_all(
        folder.path(),
        (0..8).flat_map(|number| crate::farm_made::another(number).files()),
    );
    let mended = farm(&folder, &["--out", "bad", "--files", "rates", "--resume"]);
    assert_eq!(
        (&mended["kept"], &mended["without_result"]),
        (&3.into(), &0.into())
    );
    assert_same(
        &bytes_below(&at("good")),
        &bytes_below(&at("bad")),
        "mended",
    );
}
