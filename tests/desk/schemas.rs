//! Every answer in JSON against its schema in `docs/schema`, by the `jsonschema` crate; and what must not be missing is missed.

use std::path::Path;

use serde_json::{Value, json};

use super::program::{Desk, Reply};
use super::small_field;

fn schema(name: &str) -> Value {
    let path = format!("docs/schema/desk-{name}.schema.json");
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn faults(schema: &Value, value: &Value) -> Vec<String> {
    let validator = jsonschema::validator_for(schema).unwrap();
    let faults = validator.iter_errors(value);
    faults
        .map(|error| format!("{}: {error}", error.instance_path()))
        .collect()
}

/// Holds an answer against its schema, and the answer without each of its keys.
fn follows(name: &str, answer: &Value) {
    let schema = schema(name);
    assert_eq!(faults(&schema, answer), Vec::<String>::new(), "{name}");
    for pointer in pointers(answer, "") {
        let mut without = answer.clone();
        let (parent, key) = pointer.rsplit_once('/').unwrap();
        let parent = without.pointer_mut(parent).unwrap();
        if parent.as_object_mut().unwrap().remove(key).is_some() {
            assert!(
                !faults(&schema, &without).is_empty(),
                "{name} without {pointer}"
            );
        }
    }
}

/// The keys of an answer, at every depth; of a list those of its first.
fn pointers(value: &Value, at: &str) -> Vec<String> {
    match value {
        Value::Object(keys) => keys
            .iter()
            .flat_map(|(key, value)| {
                let own = format!("{at}/{key}");
                let mut all = pointers(value, &own);
                all.push(own);
                all
            })
            .collect(),
        Value::Array(items) => items
            .first()
            .map_or_else(Vec::new, |first| pointers(first, &format!("{at}/0"))),
        _ => Vec::new(),
    }
}

fn refused(reply: &Reply, status: u16) {
    assert_eq!(
        reply.status,
        status,
        "{}",
        String::from_utf8_lossy(&reply.body)
    );
    follows("refusal", &reply.json());
}

#[test]
fn every_answer_about_a_plan_follows_its_schema() {
    let desk = Desk::of_small_field();
    follows("state", &desk.get("/api/state").done());
    follows("words", &desk.get("/api/words").done());
    let at = json!({"what": "override", "at": [-95.878, 44.212], "product": "lime", "rate": "300 lb/ac", "why": "seen on foot"});
    let left = json!({"what": "leave_out", "file": "cores.csv", "sample": {"row": 5}, "why": "a spoil heap"});
    let tried = desk.answer(&json!([at, left])).done();
    assert!(
        !tried["texts"].as_array().unwrap().is_empty()
            && !tried["left_out"].as_array().unwrap().is_empty()
    );
    follows("answer", &tried);
    let answer = desk.answer(&json!([])).done();
    follows("answer", &answer);
    let of = |rest: &str| {
        desk.get(&format!("/api/answers/{}/{rest}", answer["id"]))
            .done()
    };
    follows("samples", &of("samples"));
    follows("sample", &of("samples/0/2"));
    follows("values", &of("values/0"));
    follows("markup", &of("zones/1"));
    follows("markup", &of("cones"));
    follows("files", &of("files"));
    let place = of("place?x=1.5&y=-20");
    follows("places", &json!([place]));
    let places = desk.post(
        &format!("/api/answers/{}/places", answer["id"]),
        &json!([[0, 0], [10, 5.5]]),
    );
    follows("places", &places.done());
    follows(
        "columns",
        &desk
            .post("/api/columns", &json!({"plan": desk.plan()}))
            .done(),
    );
    follows(
        "taken",
        &desk
            .post("/api/take", &json!({"answer": answer["id"], "out": "out"}))
            .done(),
    );
    let keep = json!({"plan": desk.plan(), "changes": [at]});
    follows("written", &desk.post("/api/keep", &keep).done());
    follows(
        "written",
        &desk.post("/api/back", &json!({"plan": desk.plan()})).done(),
    );
}

#[test]
fn a_first_plan_and_dropped_files_follow_their_schemas() {
    let desk = Desk::of_files();
    follows("state", &desk.get("/api/state").done());
    let stands = desk.ask("test", "PUT /api/files/more.csv", b"a,b\n1,2\n");
    follows("uploaded", &stands.done());
    let first = json!({"boundary": "boundary.geojson", "points": ["cores.csv"]});
    let columns = desk.post("/api/columns", &json!({"first": first})).done();
    follows("columns", &columns);
    let first = json!({"first": first, "changes": []});
    follows("written", &desk.post("/api/first", &first).done());
}

#[test]
fn what_a_season_says_follows_its_schema() {
    let (_folder, desk) = super::season::alder_flat();
    let question = json!({"out": "out", "season": ["stand.csv"], "planted": "2027-04-28", "population": 32000});
    follows("after", &desk.post("/api/after", &question).done());
}

#[test]
fn every_refusal_follows_its_schema() {
    let desk = Desk::of_small_field();
    refused(&desk.get("/api/nothing"), 404);
    refused(&desk.post("/api/answer", &json!({})), 400);
    refused(
        &desk.post("/api/answer", &json!({"plan": "0".repeat(64)})),
        409,
    );
    refused(&desk.post("/api/back", &json!({"plan": desk.plan()})), 404);
    let many = json!({"what": "set", "key": "zones.count", "value": 1000});
    refused(&desk.answer(&json!([many])), 422);
    std::fs::write(
        desk.folder.join("plan.toml"),
        format!("{}\n# by hand\n", small_field::PLAN),
    )
    .unwrap();
    let other = json!({"what": "set", "key": "field", "value": "x"});
    refused(
        &desk.post("/api/answer", &json!({"plan": "x", "changes": [other]})),
        409,
    );
}
