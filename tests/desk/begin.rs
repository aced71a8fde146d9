//! From files to a first plan.

use serde_json::{Value, json};

use super::program::Desk;
use super::small_field;

fn column<'a>(answer: &'a Value, name: &str) -> &'a Value {
    let columns = answer["files"][0]["columns"].as_array().unwrap();
    columns
        .iter()
        .find(|column| column["name"] == name)
        .unwrap_or_else(|| panic!("{name}: {answer}"))
}

#[test]
fn dropped_files_become_columns_and_columns_a_plan() {
    let folder = tempfile::tempdir().unwrap();
    let desk = Desk::of(folder.path());
    assert_eq!(desk.get("/api/state").done()["plan"], Value::Null);
    let put = |name: &str, text: &str| {
        desk.ask("test", &format!("PUT /api/files/{name}"), text.as_bytes())
    };
    put("boundary.geojson", &small_field::boundary()).done();
    put("cores.csv", &small_field::cores()).done();
    assert_eq!(
        put("cores.csv", "id\n").status,
        400,
        "nothing is written over unasked"
    );
    assert_eq!(
        std::fs::read_to_string(folder.path().join("cores.csv")).unwrap(),
        small_field::cores()
    );
    put("cores.csv?replace=1", &small_field::cores()).done();

    let first = json!({"boundary": "boundary.geojson", "points": ["cores.csv"]});
    let answer = desk.post("/api/columns", &json!({"first": first})).done();
    assert_eq!(column(&answer, "lon")["role"], "east or longitude");
    let p = column(&answer, "P ppm");
    assert_eq!((&p["is"], &p["unit"]), (&json!("p"), &json!("ppm")));
    assert_eq!(p["values"].as_array().unwrap().len(), 3);

    let changes = json!([
        {"what": "column", "file": "cores.csv", "column": "P ppm", "is": "p", "method": "mehlich-3", "unit": "ppm", "depth": null},
        {"what": "column", "file": "cores.csv", "column": "K ppm", "is": null, "method": null, "unit": null, "depth": null},
        {"what": "set", "key": "field", "value": "Home Forty"},
    ]);
    let answer = desk
        .post("/api/columns", &json!({"first": first, "changes": changes}))
        .done();
    assert_eq!(column(&answer, "P ppm")["method"], "mehlich-3");
    assert_eq!(column(&answer, "K ppm")["role"], "not read");
    assert!(
        !folder.path().join("plan.toml").exists(),
        "nothing is written before it is asked for"
    );
    desk.post("/api/first", &json!({"first": first, "changes": changes}))
        .done();
    let text = desk.plan_text();
    assert!(
        text.contains("mehlich-3\", unit = \"ppm\" }\n"),
        "the mark of a guess is gone: {text}"
    );
    assert!(
        text.contains("# GUESS") && text.contains("field    = \"Home Forty\""),
        "{text}"
    );
    assert_eq!(
        desk.answer(&json!([])).done()["sheet"]["field"],
        "Home Forty"
    );
    assert_eq!(
        desk.post("/api/first", &json!({"first": first})).status,
        400,
        "a plan is not written over"
    );
}

#[test]
fn the_first_plan_is_the_one_that_start_writes() {
    let desk = Desk::of_files();
    let first = json!({"boundary": "boundary.geojson", "points": ["cores.csv"]});
    let answer = desk.post("/api/columns", &json!({"first": first})).done();
    let started = std::process::Command::new(env!("CARGO_BIN_EXE_lowstave"))
        .args([
            "start",
            ".",
            "--boundary",
            "boundary.geojson",
            "--points",
            "cores.csv",
            "--quiet",
        ])
        .current_dir(&desk.folder)
        .output()
        .unwrap();
    assert!(started.status.success(), "{started:?}");
    assert_eq!(answer["text"].as_str().unwrap(), desk.plan_text());
}

#[test]
fn what_is_wrong_stands_beside_its_column() {
    let desk = Desk::of_small_field();
    let changes = json!([{"what": "column", "file": "cores.csv", "column": "P ppm", "is": "p", "method": "mehlich-3", "unit": "furlong", "depth": null}]);
    let answer = desk
        .post(
            "/api/columns",
            &json!({"plan": desk.plan(), "changes": changes}),
        )
        .done();
    let said = column(&answer, "P ppm")["problems"].to_string() + &answer["problems"].to_string();
    assert!(said.contains("furlong"), "{answer}");
    let words = desk.get("/api/words").done();
    let p = words
        .as_array()
        .unwrap()
        .iter()
        .find(|word| word["name"] == "p")
        .unwrap();
    assert!(
        p["methods"].to_string().contains("mehlich-3") && p["units"].to_string().contains("ppm")
    );
}

#[test]
fn names_are_seen_from_the_desk_and_not_from_where_the_program_was_started() {
    let above = tempfile::tempdir().unwrap();
    let field = above.path().join("field");
    std::fs::create_dir(&field).unwrap();
    small_field::write_files(&field);
    // Files of the same names, of another field.
    std::fs::write(above.path().join("cores.csv"), "id\n").unwrap();
    std::fs::write(above.path().join("boundary.geojson"), "{}").unwrap();
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_lowstave"));
    command
        .args(["desk", "field", "--no-open", "--json"])
        .current_dir(above.path());
    let desk = Desk::started(command, &field);
    let first = json!({"boundary": "boundary.geojson", "points": ["cores.csv"]});
    desk.post("/api/first", &json!({"first": first})).done();
    let text = desk.plan_text();
    assert!(
        text.contains("file = \"boundary.geojson\"") && text.contains("\"cores.csv\""),
        "{text}"
    );
    let read = desk
        .post("/api/columns", &json!({"plan": desk.plan()}))
        .done();
    assert_eq!(column(&read, "lon")["role"], "east or longitude", "{read}");
}

#[test]
fn a_file_that_cannot_be_read_does_not_block_the_others() {
    let desk = Desk::of_files();
    std::fs::write(desk.folder.join("bad.xlsx"), "no workbook").unwrap();
    let first = json!({"boundary": "boundary.geojson", "points": ["bad.xlsx", "cores.csv"]});
    let answer = desk.post("/api/columns", &json!({"first": first})).done();
    assert_eq!(answer["unread"][0]["file"], "bad.xlsx");
    assert!(
        !answer["unread"][0]["problems"]
            .as_array()
            .unwrap()
            .is_empty()
    );
    assert_eq!(answer["files"].as_array().unwrap().len(), 1);
    assert_eq!(column(&answer, "lon")["role"], "east or longitude");
}

#[test]
fn a_file_of_no_kind_that_is_read_is_not_copied() {
    let desk = Desk::of_files();
    for name in ["wrong.png", "x.exe", "con.csv", "none"] {
        let reply = desk.ask("test", &format!("PUT /api/files/{name}"), b"x");
        assert_eq!(reply.status, 400, "{name}");
        assert!(!desk.folder.join(name).exists(), "{name}");
    }
}
