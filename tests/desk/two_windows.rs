//! The state is the plan: who does not know what lies on the disk is told, and nothing is merged in silence.

use serde_json::json;

use super::program::Desk;
use super::small_field;

#[test]
fn a_plan_that_was_changed_underneath_is_told_and_left_alone() {
    let desk = Desk::of_small_field();
    let known = desk.plan();
    let edited = small_field::PLAN.replace("season   = 2027", "season   = 2028");
    std::fs::write(desk.folder.join("plan.toml"), &edited).unwrap();
    let change = json!([{"what": "set", "key": "zones.count", "value": 2}]);
    for (address, question) in [
        ("/api/answer", json!({"plan": known, "changes": change})),
        (
            "/api/keep",
            json!({"plan": known, "changes": change, "why": "a test"}),
        ),
        ("/api/back", json!({"plan": known})),
        ("/api/columns", json!({"plan": known})),
    ] {
        let reply = desk.post(address, &question);
        assert_eq!(
            (reply.status, reply.json()["code"].as_str()),
            (409, Some("changed")),
            "{address}"
        );
    }
    assert_eq!(desk.plan_text(), edited);
    assert_eq!(
        desk.answer(&change).status,
        200,
        "the new plan is known now"
    );
}

#[test]
fn a_rulebook_that_was_changed_underneath_is_told_too() {
    let desk = Desk::of_small_field();
    let rules = "[rule.acidity]\nthreshold = 6.2\nbasis = \"own\"\nsource = \"a test\"\n";
    std::fs::write(desk.folder.join("rules.toml"), rules).unwrap();
    let plan = format!("{}\n[rules]\nfile = \"rules.toml\"\n", small_field::PLAN);
    std::fs::write(desk.folder.join("plan.toml"), plan).unwrap();
    let known = desk.plan();
    std::fs::write(desk.folder.join("rules.toml"), rules.replace("6.2", "6.1")).unwrap();
    let reply = desk.post("/api/answer", &json!({"plan": known, "changes": []}));
    assert_eq!(reply.status, 409);
}

#[test]
fn changed_data_are_seen_without_a_word_from_the_plan() {
    let desk = Desk::of_small_field();
    let before = desk.answer(&json!([])).done();
    let cores = small_field::cores();
    let fewer: Vec<&str> = cores.lines().take(20).collect();
    std::fs::write(desk.folder.join("cores.csv"), fewer.join("\n") + "\n").unwrap();
    let after = desk.answer(&json!([])).done();
    assert_ne!(before["sheet"]["layers"], after["sheet"]["layers"]);
}

#[test]
fn keep_writes_the_reason_keeps_comments_and_undo_brings_every_byte_back() {
    let desk = Desk::of_small_field();
    let changes = json!([
        {"what": "set", "key": "machine.swath", "value": "60 ft"},
        {"what": "set", "key": "prices.lime", "value": "28 USD/ton"},
        {"what": "leave_out", "file": "cores.csv", "sample": {"core": "C3"}, "why": "a spoil heap"},
        {"what": "threshold", "rule": "phosphorus_mehlich_3", "value": 25.0},
    ]);
    let keeping = json!({"plan": desk.plan(), "changes": changes, "why": "the new planter"});
    let kept = desk.post("/api/keep", &keeping).done();
    let text = desk.plan_text();
    for wanted in [
        "# its name",
        "# in water",
        "# as the grower asked",
        ": the new planter\nswath = \"60 ft\"                # the planter's",
        "lime = \"28 USD/ton\"",
        "leave_out = [{ core = \"C3\", why = \"a spoil heap\" }]",
        "file = \"desk-rules.toml\"",
    ] {
        assert!(text.contains(wanted), "{wanted:?} in {text}");
    }
    let rules = std::fs::read_to_string(desk.folder.join("desk-rules.toml")).unwrap();
    assert!(
        rules.contains("threshold = 25.0") && rules.contains("the new planter"),
        "{rules}"
    );
    assert_eq!(kept["plan"], desk.plan(), "{text}");
    let answer = desk.answer(&json!([])).done();
    assert_eq!(answer["left_out"][0]["core"], "C3");
    desk.post("/api/back", &json!({"plan": desk.plan()})).done();
    assert_eq!(desk.plan_text(), small_field::PLAN);
    assert_eq!(
        desk.post("/api/back", &json!({"plan": desk.plan()})).status,
        404
    );
}

#[test]
fn nothing_is_kept_without_a_reason_or_against_the_engine() {
    let desk = Desk::of_small_field();
    let plan = desk.plan();
    let change = json!([{"what": "set", "key": "zones.count", "value": 2}]);
    let without = json!({"plan": plan, "changes": change, "why": "  "});
    assert_eq!(desk.post("/api/keep", &without).status, 400);
    let bad = json!([{"what": "set", "key": "machine.swath", "value": "40 gal"}]);
    let reply = desk.post(
        "/api/keep",
        &json!({"plan": plan, "changes": bad, "why": "a slip"}),
    );
    assert_eq!(reply.status, 422);
    let said = reply.json()["problems"][0].as_str().unwrap().to_owned();
    assert!(
        said.contains("machine.swath") && said.contains("plan.toml"),
        "{said}"
    );
    assert_eq!(desk.plan_text(), small_field::PLAN);
}

#[test]
fn an_override_on_the_map_holds_for_its_zone_and_a_cap_says_so() {
    let desk = Desk::of_small_field();
    let answer = desk.answer(&json!([])).done();
    let label = answer["sheet"]["ground"]["labels"][0].clone();
    let address = format!(
        "/api/answers/{}/place?x={}&y={}",
        answer["id"], label[1], label[2]
    );
    let at = desk.get(&address).done();
    let change = json!([{"what": "override", "at": at, "product": "lime", "rate": "90000 lb/ac", "why": "seen on foot"}]);
    let reply = desk.answer(&change).done();
    let zone = label[0].as_u64().unwrap() as usize - 1;
    let columns = reply["sheet"]["columns"].as_array().unwrap();
    let is_lime = |own: &&serde_json::Value| own["word"].as_str().unwrap().contains("lime");
    let lime = columns
        .iter()
        .position(|own| is_lime(&own))
        .expect("lime goes out");
    let rate = reply["sheet"]["zones"][zone]["rates"][lime]
        .as_str()
        .unwrap();
    assert_ne!(rate, "0");
    assert_ne!(rate, "90,000", "the cap holds");
    let remarks = reply["sheet"]["remarks"].to_string();
    assert!(
        remarks.contains("90000 lb/ac is more than is safe and is cut"),
        "{remarks}"
    );
}

#[test]
fn undo_does_not_throw_away_what_an_editor_wrote_after_keep() {
    let desk = Desk::of_small_field();
    let change = json!([{"what": "set", "key": "zones.count", "value": 2}]);
    let keeping = json!({"plan": desk.plan(), "changes": change, "why": "a test"});
    desk.post("/api/keep", &keeping).done();
    let kept = desk.plan_text();
    let edited = kept.replace("season   = 2027", "season   = 2028");
    assert_ne!(kept, edited);
    std::fs::write(desk.folder.join("plan.toml"), &edited).unwrap();
    let reply = desk.post("/api/back", &json!({"plan": desk.plan()}));
    assert_eq!(
        (reply.status, reply.json()["code"].as_str()),
        (409, Some("edited"))
    );
    assert_eq!(desk.plan_text(), edited);
    std::fs::write(desk.folder.join("plan.toml"), &kept).unwrap();
    desk.post("/api/back", &json!({"plan": desk.plan()})).done();
    assert_eq!(desk.plan_text(), small_field::PLAN);
}

const THRESHOLD: &str = "[rule.acidity]\nthreshold = 6.2\nbasis = \"own\"\nsource = \"mine\"\n";

#[test]
fn a_rulebook_that_the_plan_does_not_name_is_not_written_over() {
    let desk = Desk::of_small_field();
    let own = desk.folder.join("desk-rules.toml");
    std::fs::write(&own, THRESHOLD).unwrap();
    let changes = json!([{"what": "threshold", "rule": "phosphorus_mehlich_3", "value": 25.0}]);
    let keeping = json!({"plan": desk.plan(), "changes": changes, "why": "a test"});
    desk.post("/api/keep", &keeping).done();
    assert_eq!(std::fs::read_to_string(&own).unwrap(), THRESHOLD);
    let plan = desk.plan_text();
    assert!(plan.contains("file = \"desk-rules-2.toml\""), "{plan}");
    let made = desk.folder.join("desk-rules-2.toml");
    let rules = std::fs::read_to_string(&made).unwrap();
    assert!(rules.contains("threshold = 25.0"), "{rules}");
    // Undo takes back what Keep made, and nothing else.
    desk.post("/api/back", &json!({"plan": desk.plan()})).done();
    assert_eq!(desk.plan_text(), small_field::PLAN);
    assert!(!made.exists());
    assert_eq!(std::fs::read_to_string(&own).unwrap(), THRESHOLD);
}

#[test]
fn undo_leaves_a_rulebook_that_was_there_before() {
    let desk = Desk::of_small_field();
    let own = desk.folder.join("rules.toml");
    std::fs::write(&own, THRESHOLD).unwrap();
    let plan = format!("{}\n[rules]\nfile = \"rules.toml\"\n", small_field::PLAN);
    std::fs::write(desk.folder.join("plan.toml"), &plan).unwrap();
    let changes = json!([{"what": "threshold", "rule": "acidity", "value": 5.5}]);
    let keeping = json!({"plan": desk.plan(), "changes": changes, "why": "a test"});
    desk.post("/api/keep", &keeping).done();
    assert!(
        std::fs::read_to_string(&own)
            .unwrap()
            .contains("threshold = 5.5")
    );
    desk.post("/api/back", &json!({"plan": desk.plan()})).done();
    assert_eq!(desk.plan_text(), plan);
    assert_eq!(std::fs::read_to_string(&own).unwrap(), THRESHOLD);
}
