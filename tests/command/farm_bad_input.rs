//! Farms that cannot be worked on: code 2, words that name the place and the way out, nothing written.

use std::fs;
use std::process::Stdio;

use crate::farm_made::{farm_file, farm_of, write_all};
use crate::program::{Folder, Ran, command};

fn run_with(folder: &Folder, arguments: &[&str], variables: &[(&str, &str)]) -> Ran {
    let output = command(folder.path(), arguments)
        .envs(variables.iter().copied())
        .output()
        .unwrap();
    Ran {
        code: output.status.code().unwrap(),
        stdout: String::from_utf8(output.stdout).unwrap(),
        stderr: String::from_utf8(output.stderr).unwrap(),
    }
}

/// Refused with these words, and nothing written.
fn refused(folder: &Folder, words: &[&str]) {
    let before = folder.contents();
    let ran = folder.run(&["farm", "farm.toml", "--out", "out"]);
    assert_eq!(ran.code, 2, "{}{}", ran.stdout, ran.stderr);
    for word in words {
        assert!(ran.stderr.contains(word), "\"{word}\" in: {}", ran.stderr);
    }
    assert_eq!(folder.contents(), before);
}

#[test]
#[expect(clippy::too_many_lines, reason = "a table: a row for each mistake")]
fn a_farm_file_with_a_mistake_is_refused_with_its_row() {
    for (text, words) in [
        (
            farm_file("[\"*/plan.toml\"]", "\n[machine]\nswaht = \"40 ft\"\n"),
            ["farm.toml, row 14", "did you mean \"swath\"?"],
        ),
        (
            farm_file("[\"*/plan.toml\"]", "\n[machine]\nswath = \"40 apples\"\n"),
            ["row 14, key machine.swath", "apples"],
        ),
        (
            farm_file("[\"*/plan.toml\"]", "\n[machien]\nswath = \"40 ft\"\n"),
            ["row 13, key machien", "did you mean \"machine\"?"],
        ),
        (
            farm_file("[\"*/plan.toml\"]", "\n[[override]]\nzone = 1\n"),
            ["key override", "that field's plan"],
        ),
        (
            farm_file("[\"*/plan.toml\"]", "\n[rules]\nfile = \"none.toml\"\n"),
            ["row 14, key rules.file", "none.toml"],
        ),
        (
            farm_file("[\"*/plan.toml\"]", "\n[budget]\nlimit = \"12000 sheep\"\n"),
            ["key budget.limit", "sheep"],
        ),
        (
            farm_file("[\"*/plan.toml\"]", "\n[budget]\nlimit = \"-5 USD\"\n"),
            ["key budget.limit", "0 to 1,000,000,000 USD"],
        ),
        (
            farm_file(
                "[\"*/plan.toml\"]",
                "\n[shed]\non_hand = { lime = \"40 bananas\" }\n",
            ),
            ["key shed.on_hand.lime", "bananas"],
        ),
        (
            farm_file("[\"*/nowhere.toml\"]", ""),
            ["row 2, key fields", "*/nowhere.toml"],
        ),
        (farm_file("[]", ""), ["row 2, key fields", "*/plan.toml"]),
        (farm_file("3", ""), ["row 2, key fields", "the number 3"]),
        (
            farm_file("[\"f000/plan.toml\", \"f000/plan.toml\"]", ""),
            ["two fields", "name each field once"],
        ),
        (
            farm_file("{ tabel = \"fields.csv\" }", ""),
            ["key fields.tabel", "did you mean \"table\"?"],
        ),
        (
            farm_file("{ table = \"fields.csv\" }", ""),
            ["fields.csv", "cannot be read"],
        ),
        (
            "farm = \"X\"\n".to_owned(),
            ["\"fields\" is missing", "fields = "],
        ),
        (
            "farm = \"X\nfields = 3".to_owned(),
            ["farm.toml, row 1", ""],
        ),
    ] {
        let folder = farm_of(2);
        fs::write(folder.path().join("farm.toml"), &text).unwrap();
        refused(&folder, &words);
    }
}

#[test]
fn a_table_of_fields_with_a_mistake_is_refused_with_its_row() {
    for (table, words) in [
        (
            "field_id,boundary\nf000,f000/boundary.geojson\n",
            ["fields.csv", "boundary and points"],
        ),
        ("plan\nsome text\n", ["fields.csv", "field_id is missing"]),
        ("field_id,plan_file\n", ["fields.csv", "no row"]),
        (
            "field_id,plan_file\na,f000/plan.toml\nb,f001/plan.toml\nA,f001/plan.toml\n",
            ["fields.csv, row 4", "name each field once"],
        ),
        (
            "field_id,plan_file\n../a,f000/plan.toml\n",
            ["fields.csv, row 2", "cannot be the name"],
        ),
        (
            "field_id,plan_file\n\"open,f000/plan.toml\n",
            ["fields.csv, row 2", "never closed"],
        ),
    ] {
        let folder = farm_of(2);
        let file = farm_file("{ table = \"fields.csv\" }", "");
        write_all(
            folder.path(),
            [
                ("farm.toml".to_owned(), file),
                ("fields.csv".to_owned(), table.to_owned()),
            ],
        );
        refused(&folder, &words);
    }
    // A Parquet file that is none.
    let folder = farm_of(2);
    let file = farm_file("{ table = \"fields.parquet\" }", "");
    write_all(
        folder.path(),
        [
            ("farm.toml".to_owned(), file),
            ("fields.parquet".to_owned(), "PAR1 no".to_owned()),
        ],
    );
    refused(
        &folder,
        &["fields.parquet", "not readable as a Parquet file"],
    );
}

/// A row that says too little is that field's problem, not the farm's.
#[test]
fn a_row_that_says_too_little_leaves_the_others() {
    let folder = farm_of(2);
    let file = farm_file("{ table = \"fields.csv\" }", "");
    let table = "field_id,plan_file\nf000,f000/plan.toml\nf001,f001/missing.toml\n";
    write_all(
        folder.path(),
        [
            ("farm.toml".to_owned(), file),
            ("fields.csv".to_owned(), table.to_owned()),
        ],
    );
    let ran = folder.run(&["farm", "farm.toml", "--out", "out", "--json"]);
    assert_eq!(ran.code, 1, "{}", ran.stderr);
    let summary = ran.json();
    assert_eq!(summary["with_result"], 1);
    assert_eq!(summary["problems"][0]["id"], "f001");
}

#[test]
fn where_no_field_has_a_result_the_farm_is_refused() {
    let folder = farm_of(2);
    for field in ["f000", "f001"] {
        fs::remove_file(folder.path().join(field).join("boundary.geojson")).unwrap();
    }
    let ran = folder.run(&["farm", "farm.toml", "--out", "out", "--json"]);
    assert_eq!(ran.code, 2, "{}", ran.stderr);
    assert_eq!(ran.json()["problems"].as_array().unwrap().len(), 2);
}

#[test]
fn a_share_that_is_not_clear_is_refused() {
    let folder = farm_of(2);
    let before = folder.contents();
    let slurm_of_one = [
        ("SLURM_ARRAY_TASK_ID", "1"),
        ("SLURM_ARRAY_TASK_COUNT", "1"),
        ("SLURM_ARRAY_TASK_MIN", "1"),
        ("SLURM_ARRAY_TASK_MAX", "1"),
    ];
    for (part, variables, words) in [
        ("4/3", &[][..], "there is no part 4 of 3"),
        ("0/3", &[], "numbered from 1"),
        ("half", &[], "write 2/4"),
        ("auto", &[], "neither is set"),
        ("auto", &slurm_of_one, "not a whole one"),
        ("auto", &[("JOB_COMPLETION_INDEX", "0")], "LOWSTAVE_PARTS"),
    ] {
        let arguments = ["farm", "farm.toml", "--out", "out", "--part", part];
        let ran = run_with(&folder, &arguments, variables);
        assert_eq!(ran.code, 2, "{part}: {}", ran.stderr);
        assert!(ran.stderr.contains(words), "{part}: {}", ran.stderr);
    }
    assert_eq!(folder.contents(), before);
    let job = [("JOB_COMPLETION_INDEX", "1"), ("LOWSTAVE_PARTS", "2")];
    let arguments = [
        "farm",
        "farm.toml",
        "--out",
        "out",
        "--part",
        "auto",
        "--json",
    ];
    let ran = run_with(&folder, &arguments, &job);
    assert_eq!(
        (ran.code, &ran.json()["part"]),
        (0, &2.into()),
        "{}",
        ran.stderr
    );
    // Another count of parts in the same folder would leave gaps.
    let ran = run_with(
        &folder,
        &["farm", "farm.toml", "--out", "out", "--part", "1/3"],
        &[],
    );
    assert_eq!(ran.code, 2);
    assert!(ran.stderr.contains("begun in 2 parts"), "{}", ran.stderr);
}

#[test]
fn a_folder_with_something_else_is_left_alone() {
    let folder = farm_of(2);
    write_all(
        folder.path(),
        [("out/mine.txt".to_owned(), "mine".to_owned())],
    );
    let before = folder.contents();
    let ran = folder.run(&["farm", "farm.toml", "--out", "out"]);
    assert_eq!(ran.code, 2, "{}", ran.stderr);
    assert_eq!(folder.contents(), before);
    let ran = folder.run(&["farm", "join", "out"]);
    assert_eq!(ran.code, 2, "{}", ran.stderr);
    let ran = folder.run(&["farm", "nowhere", "--out", "new"]);
    assert_eq!(ran.code, 2, "{}", ran.stderr);
    // Another farm in a folder that was begun.
    assert!(
        folder
            .run(&["farm", "farm.toml", "--out", "begun", "--part", "1/2"])
            .code
            == 0
    );
    fs::copy(
        folder.path().join("farm.toml"),
        folder.path().join("other.toml"),
    )
    .unwrap();
    let ran = folder.run(&["farm", "other.toml", "--out", "begun", "--resume"]);
    assert_eq!(ran.code, 2);
    assert!(ran.stderr.contains("was begun for"), "{}", ran.stderr);
}

#[test]
fn parts_that_start_at_the_same_moment_do_not_refuse_each_other() {
    let folder = farm_of(4);
    // What another part has made before it says how the farm is begun: a folder, then a file in the making.
    for (out, made) in [("empty", "empty/parts"), ("half", "half/parts")] {
        fs::create_dir_all(folder.path().join(made)).unwrap();
        if out == "half" {
            let hidden = folder.path().join(made).join(".manifest.json.lowstave-1");
            fs::write(hidden, "{").unwrap();
        }
        let ran = folder.run(&["farm", "farm.toml", "--out", out, "--part", "1/2"]);
        assert!(ran.code < 2, "{out}: {}", ran.stderr);
    }
    for turn in 0..6 {
        let out = format!("new{turn}");
        let start = |part: u32| {
            let share = format!("{part}/4");
            command(
                folder.path(),
                &["farm", "farm.toml", "--out", &out, "--part", &share],
            )
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap()
        };
        let parts: Vec<_> = (1..=4).map(start).collect();
        for part in parts {
            let ended = part.wait_with_output().unwrap();
            let told = String::from_utf8_lossy(&ended.stderr);
            assert!(ended.status.code().is_some_and(|code| code < 2), "{told}");
        }
        let joined = folder.run(&["farm", "join", &out]);
        assert!(joined.code < 2, "{}", joined.stderr);
    }
    // A folder of that name with something else in it is not ours.
    write_all(
        folder.path(),
        [("other/parts/mine.txt".to_owned(), "mine".to_owned())],
    );
    let ran = folder.run(&["farm", "farm.toml", "--out", "other", "--part", "1/2"]);
    assert_eq!(ran.code, 2, "{}", ran.stderr);
}
