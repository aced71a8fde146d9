//! The desk of a farm: its answers are those of `lowstave farm`, its fields have desks of their own, and its file is kept whole.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use serde_json::{Value, json};
use tempfile::TempDir;

use super::program::Desk;

/// The invented sample farm in a folder of its own.
pub fn farm() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/three-alders");
    let home = folder.path().join("three-alders");
    copy(&sample, &home);
    (folder, home)
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap().flatten() {
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}

fn state(desk: &Desk) -> Value {
    desk.get("/api/farm/state").done()
}

fn answer(desk: &Desk, budget: &Value) -> Value {
    let farm = state(desk)["farm"].clone();
    desk.post(
        "/api/farm/answer",
        &json!({ "farm": farm, "budget": budget }),
    )
    .done()
}

/// The program's own farm run into a folder.
fn run_farm(home: &Path, out: &Path, more: &[&str]) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lowstave"));
    command.arg("farm").arg(home.join("farm.toml")).arg("--out");
    let done = command.arg(out).args(more).output().unwrap();
    assert!(
        matches!(done.status.code(), Some(0 | 1)),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
}

/// Files below a folder, without the state that is kept to go on from.
fn files(root: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut waiting = vec![root.to_owned()];
    while let Some(folder) = waiting.pop() {
        for entry in fs::read_dir(folder).unwrap().flatten() {
            let path = entry.path();
            let name = path.strip_prefix(root).unwrap().display().to_string();
            if path.is_dir() && name != "parts" {
                waiting.push(path);
            } else if path.is_file() {
                found.insert(name, fs::read(path).unwrap());
            }
        }
    }
    found
}

/// The record of a field's run without the one key that may differ.
fn without_timings(mut files: BTreeMap<String, Vec<u8>>) -> BTreeMap<String, Vec<u8>> {
    for (_, bytes) in files
        .iter_mut()
        .filter(|(name, _)| name.ends_with("run.json"))
    {
        let mut record: Value = serde_json::from_slice(bytes).unwrap();
        record.as_object_mut().unwrap().remove("timings");
        *bytes = serde_json::to_vec(&record).unwrap();
    }
    files
}

#[test]
fn every_budget_is_answered_as_the_program_answers_it() {
    let (_folder, home) = farm();
    let desk = Desk::of(&home);
    let saved = answer(&desk, &json!("as-saved"));
    assert_eq!(saved["is_saved"], true);
    assert_eq!(saved["fields"].as_array().unwrap().len(), 3);
    let wanted = saved["budget"]["wanted"].as_f64().unwrap();
    let text = fs::read_to_string(home.join("farm.toml")).unwrap();
    let (other, at) = farm();
    let mut random = ChaCha8Rng::seed_from_u64(18);
    for number in 0..8 {
        let limit = (random.random_range(0.0..1.2) * wanted).round();
        let tried = answer(&desk, &json!({ "dollars": limit }));
        let changed = text.replace("limit = \"2500 USD\"", &format!("limit = \"{limit} USD\""));
        assert_ne!(changed, text);
        fs::write(at.join("farm.toml"), changed).unwrap();
        let out = other.path().join(format!("out-{number}"));
        run_farm(&at, &out, &[]);
        let rows = rows_of(&out);
        for field in tried["fields"].as_array().unwrap() {
            let id = field["id"].as_str().unwrap();
            assert_eq!(field["cost"], rows[id], "{id} at {limit} USD");
        }
        assert_eq!(tried["fields"].as_array().unwrap().len(), rows.len());
        assert_eq!(tried["budget"]["limit"], limit);
        let spent = tried["budget"]["spent"].as_f64().unwrap();
        assert!(spent <= limit + 1.0, "{spent} of {limit}");
        // The sum is the bill's, not that of the fields' whole dollars.
        let bill = fs::read_to_string(out.join("bill.csv")).unwrap();
        let total = bill
            .lines()
            .find(|line| line.starts_with("total,"))
            .unwrap();
        let cost: f64 = total.split(',').nth(9).unwrap().parse().unwrap();
        assert!((spent - cost.round()).abs() < 1e-9, "{spent} is not {cost}");
    }
    assert_eq!(fs::read_to_string(home.join("farm.toml")).unwrap(), text);
}

/// Whole dollars of products and other work by field, from the records that a run of the farm keeps.
fn rows_of(out: &Path) -> BTreeMap<String, Value> {
    let bytes = fs::read(out.join("fields.parquet")).unwrap();
    let reader = parquet_rows(&bytes);
    reader
        .into_iter()
        .map(|(id, cost)| (id, json!(cost.round())))
        .collect()
}

fn parquet_rows(bytes: &[u8]) -> Vec<(String, f64)> {
    use parquet::file::reader::{FileReader as _, SerializedFileReader};
    let reader = SerializedFileReader::new(bytes::Bytes::copy_from_slice(bytes)).unwrap();
    let rows = reader.get_row_iter(None).unwrap();
    rows.map(|row| {
        let row = row.unwrap();
        let text = |name: &str| {
            let mut columns = row.get_column_iter();
            let (_, value) = columns.find(|(own, _)| *own == name).unwrap();
            value.to_string().trim_matches('"').to_owned()
        };
        let number = |name: &str| text(name).parse::<f64>().unwrap();
        (text("field_id"), number("cost_usd") + number("work_usd"))
    })
    .collect()
}

#[test]
fn what_is_taken_is_what_the_program_writes() {
    let (folder, home) = farm();
    let desk = Desk::of(&home.join("farm.toml"));
    for which in ["none", "all"] {
        let farm = state(&desk)["farm"].clone();
        let name = format!("taken-{which}");
        let taken = desk.post(
            "/api/farm/take",
            &json!({ "farm": farm, "out": name, "files": which }),
        );
        assert_eq!(taken.done()["fields"], 3);
        let out = folder.path().join(format!("program-{which}"));
        run_farm(&home, &out, &["--files", which]);
        let (own, wanted) = (
            without_timings(files(&home.join(&name))),
            without_timings(files(&out)),
        );
        assert_eq!(
            own.keys().collect::<Vec<_>>(),
            wanted.keys().collect::<Vec<_>>()
        );
        for (path, bytes) in &wanted {
            assert!(own[path] == *bytes, "{path} differs");
        }
        if which == "none" {
            for path in ["farm.html", "bill.csv"] {
                let one = desk.get(&format!("/api/farm/file?path={path}"));
                assert_eq!(one.status, 200);
                assert!(one.body == wanted[path], "{path} differs");
            }
        }
    }
    let zip = desk.get("/api/farm/zip");
    assert_eq!(zip.status, 200);
    assert!(zip.body.starts_with(b"PK"));
}

#[test]
fn a_kept_budget_stands_in_the_farm_file_with_its_reason_and_undo_takes_it_back() {
    let (_folder, home) = farm();
    let desk = Desk::of(&home);
    let before = fs::read_to_string(home.join("farm.toml")).unwrap();
    let known = state(&desk)["farm"].clone();
    let keeping = |why: &str| json!({ "farm": known, "budget": { "dollars": 1200 }, "why": why });
    let silent = desk.post("/api/farm/keep", &keeping(" "));
    assert_eq!(silent.status, 400);
    let kept = desk
        .post("/api/farm/keep", &keeping("the bank said so"))
        .done();
    let text = fs::read_to_string(home.join("farm.toml")).unwrap();
    assert!(
        text.contains("limit = \"1200 USD\"") && text.contains("the bank said so"),
        "{text}"
    );
    // Every other line stays.
    let others = |text: &str| -> Vec<String> {
        let lines = text.lines().filter(|line| !line.contains("limit ="));
        let lines = lines.filter(|line| !line.contains("the bank said so"));
        lines.map(str::to_owned).collect()
    };
    assert_eq!(others(&text), others(&before));
    let old = desk.post("/api/farm/keep", &keeping("again, from an old page"));
    assert_eq!(old.status, 409, "the page knew an older farm file");
    let back = desk.post("/api/farm/back", &json!({ "farm": kept["farm"] }));
    assert_eq!(back.status, 200);
    assert_eq!(fs::read_to_string(home.join("farm.toml")).unwrap(), before);
}

#[test]
fn a_farm_file_that_an_editor_changed_is_told_and_nothing_is_merged() {
    let (_folder, home) = farm();
    let desk = Desk::of(&home);
    let known = state(&desk)["farm"].clone();
    let path = home.join("farm.toml");
    let edited = fs::read_to_string(&path)
        .unwrap()
        .replace("2500 USD", "900 USD");
    fs::write(&path, &edited).unwrap();
    for (address, body) in [
        ("answer", json!({ "farm": known, "budget": "none" })),
        (
            "keep",
            json!({ "farm": known, "budget": "none", "why": "no" }),
        ),
        ("take", json!({ "farm": known, "out": "x" })),
    ] {
        let reply = desk.post(&format!("/api/farm/{address}"), &body);
        assert_eq!(reply.status, 409, "{address}");
    }
    assert_eq!(fs::read_to_string(&path).unwrap(), edited);
    assert!(!home.join("x").exists());
    // What is wrong with the file is told with its row.
    fs::write(
        &path,
        edited.replace("count    = \"auto\"", "count = \"many\""),
    )
    .unwrap();
    let known = state(&desk)["farm"].clone();
    let reply = desk.post("/api/farm/answer", &json!({ "farm": known }));
    assert_eq!(reply.status, 422);
    let problem = reply.json()["problems"][0].as_str().unwrap().to_owned();
    assert!(
        problem.contains("farm.toml, row") && problem.contains("zones.count"),
        "{problem}"
    );
}

#[test]
fn a_field_has_its_own_desk_with_what_the_farm_says_and_holds_for_it() {
    let (folder, home) = farm();
    let desk = Desk::of(&home);
    let farm = answer(&desk, &json!("as-saved"));
    let out = folder.path().join("out");
    run_farm(&home, &out, &["--files", "all"]);
    for field in farm["fields"].as_array().unwrap() {
        assert_eq!(field["has_desk"], true);
        let id = field["id"].as_str().unwrap();
        let below = |rest: &str| format!("/fields/{id}/{rest}");
        assert_eq!(desk.get(&below("")).status, 200);
        let own = desk.get(&below("api/state")).done();
        let says = own["farm"]["says"].to_string();
        assert!(says.contains("comes from farm.toml"), "{says}");
        assert_eq!(
            says.contains("money is shared out"),
            !field["granted"].is_null()
        );
        let question = json!({ "plan": own["plan"], "changes": [] });
        let told = desk.post(&below("api/answer"), &question).done();
        // The files of the field are those that the farm writes for it.
        let number = &told["id"];
        let list = desk
            .get(&below(&format!("api/answers/{number}/files")))
            .done();
        assert!(list.as_array().unwrap().len() > 5);
        let map = desk.get(&below(&format!(
            "api/answers/{number}/file?path=prescription.geojson"
        )));
        let wanted = fs::read(out.join("fields").join(id).join("prescription.geojson")).unwrap();
        assert!(map.body == wanted, "{id}: another map than the farm's");
    }
}

#[test]
fn what_a_field_keeps_goes_into_its_own_plan_and_the_farm_sees_it() {
    let (_folder, home) = farm();
    let desk = Desk::of(&home);
    let before = answer(&desk, &json!("as-saved"));
    let farm_file = fs::read_to_string(home.join("farm.toml")).unwrap();
    let id = before["fields"][0]["id"].as_str().unwrap();
    let own = desk.get(&format!("/fields/{id}/api/state")).done();
    let change = json!({ "what": "set", "key": "zones.count", "value": 1 });
    let kept = desk.post(
        &format!("/fields/{id}/api/keep"),
        &json!({ "plan": own["plan"], "changes": [change], "why": "one rate is enough" }),
    );
    assert_eq!(kept.status, 200, "{}", String::from_utf8_lossy(&kept.body));
    assert_eq!(
        fs::read_to_string(home.join("farm.toml")).unwrap(),
        farm_file
    );
    let plan = home
        .join(before["fields"][0]["id"].as_str().unwrap())
        .join("plan.toml");
    assert!(
        fs::read_to_string(plan)
            .unwrap()
            .contains("one rate is enough")
    );
    let after = answer(&desk, &json!("as-saved"));
    assert_eq!(after["fields"][0]["zones"], 1);
}

#[test]
fn a_field_that_cannot_be_used_is_told_and_the_others_are_worked_on() {
    let (_folder, home) = farm();
    fs::write(home.join("creek/boundary.geojson"), "no shape").unwrap();
    let desk = Desk::of(&home);
    let told = answer(&desk, &json!("as-saved"));
    assert_eq!(told["fields"].as_array().unwrap().len(), 2);
    let problem = &told["problems"][0];
    assert_eq!(problem["id"], "creek");
    assert!(
        problem["what"]
            .as_str()
            .unwrap()
            .contains("boundary.geojson"),
        "{problem}"
    );
}

#[test]
fn nobody_else_reaches_the_farm_and_no_name_leads_out_of_it() {
    let (_folder, home) = farm();
    let desk = Desk::of(&home);
    let host = format!("127.0.0.1:{}", desk.port);
    for address in [
        "/",
        "/api/farm/state",
        "/fields/creek/",
        "/fields/creek/api/state",
    ] {
        let line = format!("GET {address}");
        assert_eq!(desk.raw(&line, &[("Host", &host)], b"").status, 403);
        let own = desk.own_headers();
        let mut headers: Vec<(&str, &str)> = own.iter().map(|(n, v)| (*n, v.as_str())).collect();
        headers[1] = ("Origin", "http://evil.example");
        assert_eq!(desk.raw(&line, &headers, b"").status, 403);
    }
    for address in [
        "/fields/../api/farm/state",
        "/fields/..%2F..%2Fetc/",
        "/fields/nobody/",
        "/fields/%00/",
        "/api/farm/file?path=../farm.toml",
        "/api/farm/file?path=parts/chunk-00000.json.gz",
    ] {
        assert_eq!(desk.get(address).status, 404, "{address}");
    }
    let farm = state(&desk)["farm"].clone();
    for out in ["../elsewhere", "/elsewhere", "a/b", ".hidden"] {
        let taking = json!({ "farm": farm, "out": out });
        assert_eq!(desk.post("/api/farm/take", &taking).status, 400, "{out}");
    }
    for budget in [
        json!({ "dollars": -1 }),
        json!({ "dollars": 1e12 }),
        json!("much"),
    ] {
        let reply = desk.post(
            "/api/farm/answer",
            &json!({ "farm": farm, "budget": budget }),
        );
        assert_eq!(reply.status, 400, "{budget}");
    }
}

#[test]
fn a_desk_that_is_killed_leaves_the_farm_file_whole() {
    let (_folder, home) = farm();
    let path = home.join("farm.toml");
    for number in 0..12 {
        let mut desk = Desk::of(&home);
        let known = state(&desk)["farm"].clone();
        let port = desk.port;
        let own = desk.own_headers();
        let body =
            json!({ "farm": known, "budget": { "dollars": 1000 + number }, "why": "killed" });
        let asking = std::thread::spawn(move || {
            let mut head = format!(
                "POST /api/farm/keep HTTP/1.1\r\nConnection: close\r\nContent-Length: {}\r\n",
                body.to_string().len()
            );
            for (name, value) in own {
                head += &format!("{name}: {value}\r\n");
            }
            let stream = std::net::TcpStream::connect(("127.0.0.1", port));
            if let Ok(mut stream) = stream {
                use std::io::Write as _;
                let _ = stream.write_all(format!("{head}\r\n{body}").as_bytes());
            }
        });
        std::thread::sleep(std::time::Duration::from_millis(number * 2));
        desk.kill();
        asking.join().unwrap();
        let text = fs::read_to_string(&path).unwrap();
        assert!(
            text.starts_with("# Three Alders") && text.contains("[budget]"),
            "{text}"
        );
        assert!(text.trim_end().ends_with("relieves most"), "{text}");
    }
}
