//! What a table at home brings: odd names, plans that are not right yet, fields with little in them.

use serde_json::json;

use super::program::Desk;
use super::small_field;

/// Names that a laboratory's file may hold.
const NAMES: [&str; 3] = ["Größe <b>&\"Ost\"</b>", "l'été; 100 %", "  two  words "];

fn desk_with(plan: &str, cores: &str) -> (tempfile::TempDir, Desk) {
    let folder = tempfile::tempdir().unwrap();
    small_field::write_files(folder.path());
    std::fs::write(folder.path().join("plan.toml"), plan).unwrap();
    std::fs::write(folder.path().join("cores.csv"), cores).unwrap();
    let desk = Desk::of(folder.path());
    (folder, desk)
}

/// The file of cores with odd names for the first ones.
fn named() -> String {
    let mut text = small_field::cores();
    for (at, name) in NAMES.iter().enumerate() {
        let quoted = format!("\"{}\"", name.replace('"', "\"\""));
        text = text.replace(&format!("C{},", at + 1), &format!("{quoted},"));
    }
    text
}

#[test]
fn a_core_with_an_odd_name_is_shown_left_out_kept_and_taken_back() {
    let (_folder, desk) = desk_with(small_field::PLAN, &named());
    let answer = desk.answer(&json!([])).done();
    let samples = desk
        .get(&format!("/api/answers/{}/samples", answer["id"]))
        .done();
    for (at, name) in NAMES.iter().enumerate() {
        let shown = samples[0]["samples"][at][3].as_str().unwrap();
        assert_eq!(shown, name.trim(), "{samples}");
        let before = desk.plan_text();
        let why = "<i>Öl</i> \"verschüttet\" \\ 'hier' # ]";
        let change = json!({"what": "leave_out", "file": "cores.csv", "sample": {"core": shown}, "why": why});
        let tried = desk.answer(&json!([change])).done();
        assert_eq!(tried["left_out"][0]["core"], shown);
        assert_eq!(tried["left_out"][0]["why"], why);
        let keep = json!({"plan": desk.plan(), "changes": [change]});
        desk.post("/api/keep", &keep).done();
        let kept = desk.answer(&json!([])).done();
        assert_eq!(kept["left_out"][0]["why"], why);
        let again = json!([{"what": "take_back", "file": "cores.csv", "sample": {"core": shown}}]);
        let used = desk.answer(&again).done();
        assert_eq!(
            (&used["left_out"], &used["sheet"]),
            (&json!([]), &answer["sheet"])
        );
        desk.post("/api/back", &json!({"plan": desk.plan()})).done();
        assert_eq!(desk.plan_text(), before, "byte for byte");
    }
}

#[test]
fn a_reason_with_marks_and_umlauts_is_printed_and_never_run() {
    let desk = Desk::of_small_field();
    let why = "<script>alert(1)</script> Müller's \"Wiese\" & mehr";
    let change = json!({"what": "override", "at": [-95.878, 44.212], "product": "lime", "rate": "300 lb/ac", "why": why});
    let keep = json!({"plan": desk.plan(), "changes": [change]});
    desk.post("/api/keep", &keep).done();
    let answer = desk.answer(&json!([])).done();
    assert_eq!(answer["overrides"][0]["why"], why);
    let zones = answer["sheet"]["zones"].as_array().unwrap();
    let chapters = zones.iter().map(|zone| {
        let address = format!("/api/answers/{}/zones/{}", answer["id"], zone["zone"]);
        desk.get(&address).done()["markup"]
            .as_str()
            .unwrap()
            .to_owned()
    });
    let chapters: String = chapters.collect();
    assert!(
        chapters.contains("&lt;script&gt;alert(1)&lt;/script&gt; Müller"),
        "{chapters}"
    );
    assert!(!chapters.contains("<script"));
    let report = desk.get(&format!("/api/answers/{}/report", answer["id"]));
    let report = String::from_utf8_lossy(&report.body).into_owned();
    assert!(report.contains("Müller") && !report.contains("<script>alert"));
}

#[test]
fn a_plan_with_errors_is_told_and_can_be_put_right_by_an_editor() {
    let broken = small_field::PLAN
        .replace("count    = 3", "count    = \"many\"")
        .replace("crop     = \"corn\"", "crop     = \"corm\"");
    let (folder, desk) = desk_with(&broken, &small_field::cores());
    let state = desk.get("/api/state").done();
    assert!(state["plan"].is_string() && state["text"] == broken.as_str());
    let reply = desk.answer(&json!([]));
    assert_eq!(reply.status, 422);
    let told = reply.json();
    let problems = told["problems"].to_string();
    assert!(
        problems.contains("zones.count") && problems.contains("row"),
        "{problems}"
    );
    // A change on top of it is refused too, and nothing is written.
    let change = json!({"what": "set", "key": "budget.limit", "value": "50 USD/ac"});
    let keep = json!({"plan": desk.plan(), "changes": [change], "why": "a test"});
    assert_eq!(desk.post("/api/keep", &keep).status, 422);
    assert_eq!(desk.plan_text(), broken);
    // A change that puts right what is wrong is taken.
    let count = json!({"what": "set", "key": "zones.count", "value": 3});
    let crop = json!({"what": "set", "key": "crop", "value": "corn"});
    let keep = json!({"plan": desk.plan(), "changes": [count, crop], "why": "put right"});
    desk.post("/api/keep", &keep).done();
    desk.answer(&json!([])).done();
    std::fs::write(folder.path().join("plan.toml"), "is = 1\nnot = [toml").unwrap();
    let reply = desk.answer(&json!([]));
    assert_eq!(reply.status, 400);
    let told = reply.json()["problems"].to_string();
    assert!(
        told.contains("plan.toml, row 2: this is not valid TOML"),
        "{told}"
    );
    let keep = json!({"plan": desk.plan(), "changes": [change], "why": "a test"});
    assert!(matches!(desk.post("/api/keep", &keep).status, 400 | 422));
    assert_eq!(desk.plan_text(), "is = 1\nnot = [toml");
}

#[test]
fn a_field_without_boundary_or_cores_says_what_is_missing() {
    let without = |text: &str, from: &str, to: &str| {
        let (before, rest) = text.split_once(from).unwrap();
        let (_, after) = rest.split_once(to).unwrap();
        format!("{before}{to}{after}")
    };
    let bare = without(small_field::PLAN, "boundary = {", "\n\n");
    let (_folder, desk) = desk_with(&bare, &small_field::cores());
    let reply = desk.answer(&json!([]));
    assert_eq!(reply.status, 422);
    assert!(
        reply.json()["problems"].to_string().contains("boundary"),
        "{:?}",
        reply.json()
    );
    drop(desk);
    let bare = without(small_field::PLAN, "[[points]]", "[grid]");
    let (_folder, desk) = desk_with(&bare, &small_field::cores());
    let reply = desk.answer(&json!([]));
    let text = String::from_utf8_lossy(&reply.body).into_owned();
    assert!(matches!(reply.status, 200 | 422), "{text}");
    assert!(
        text.contains("points") || text.contains("sample") || text.contains("core"),
        "{text}"
    );
    drop(desk);
    // A file of cores with its head alone.
    let (_folder, desk) = desk_with(small_field::PLAN, "core,lon,lat,pH,BpH,P ppm,K ppm\n");
    let reply = desk.answer(&json!([]));
    let text = String::from_utf8_lossy(&reply.body).into_owned();
    assert!(matches!(reply.status, 200 | 422), "{text}");
    assert!(text.contains("cores.csv"), "{text}");
}

#[test]
fn a_count_of_zones_that_is_forced_holds_and_a_drawn_place_comes_on_top() {
    let desk = Desk::of_small_field();
    for count in [1, 3, 12] {
        let change = json!({"what": "set", "key": "zones.count", "value": count});
        let answer = desk.answer(&json!([change])).done();
        let zones = answer["sheet"]["zones"].as_array().unwrap().len();
        assert!(zones <= count, "{zones} of {count}");
        let square = json!([[-60.0, -60.0], [60.0, -60.0], [60.0, 60.0], [-60.0, 60.0]]);
        let inside = desk
            .post(&format!("/api/answers/{}/places", answer["id"]), &square)
            .done();
        let said = json!({"what": "override", "inside": inside, "product": "lime", "rate": "0 lb/ac", "why": "no lime here"});
        let drawn = desk.answer(&json!([change, said])).done();
        let rows = drawn["sheet"]["zones"].as_array().unwrap();
        let place = format!("drawn place, zone {}", rows.len());
        assert_eq!(drawn["overrides"][0]["place"], json!(place), "{count}");
    }
}
