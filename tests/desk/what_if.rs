//! What the page is told is what a run of its own with that plan gives.

use lowstave::Files;
use serde_json::{Value, json};

use super::program::Desk;
use super::small_field;

/// Numbers without a pattern, the same in every run: a linear congruence (Knuth, MMIX).
struct Draw(u64);

impl Draw {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % most
    }

    fn change(&mut self) -> Value {
        let set = |key: &str, value: Value| json!({"what": "set", "key": key, "value": value});
        match self.below(13) {
            0 => set("zones.count", json!(1 + self.below(6))),
            1 => set("zones.count", json!("auto")),
            2 => set(
                "prices.lime",
                json!(format!("{} USD/ton", 10 + self.below(80))),
            ),
            3 => set("budget.limit", json!(format!("{} USD/ac", self.below(150)))),
            4 => set(
                "machine.swath",
                json!(format!("{} ft", 20 + 10 * self.below(7))),
            ),
            5 => set(
                "machine.tank",
                json!(format!("{} gal", 100 + 50 * self.below(12))),
            ),
            6 => set("machine.speed", json!(format!("{} mph", 3 + self.below(5)))),
            7 => set(
                "zones.smallest",
                json!(format!("0.{} ac", 1 + self.below(9))),
            ),
            8 => {
                let layers = ["ph", "p", "k"];
                let count = 1 + self.below(3);
                set("zones.layers", json!(layers[..count]))
            }
            9 => {
                json!({"what": "threshold", "rule": "phosphorus_mehlich_3", "value": 15 + self.below(20)})
            }
            10 => {
                json!({"what": "leave_out", "file": "cores.csv", "sample": {"core": format!("C{}", 1 + self.below(25))}, "why": "a test"})
            }
            11 => {
                // A square of 130 to 190 m somewhere in the field, which is 320 by 440 m.
                let (west, south) = (
                    -95.8795 + 1e-4 * self.below(8) as f64,
                    44.2105 + 1e-4 * self.below(15) as f64,
                );
                let (east, north) = (
                    west + 0.0017 + 1e-4 * self.below(7) as f64,
                    south + 0.0012 + 1e-4 * self.below(5) as f64,
                );
                let inside = [[west, south], [east, south], [east, north], [west, north]];
                json!({"what": "override", "inside": inside, "product": "lime", "rate": format!("{} lb/ac", 100 * self.below(40)), "why": "a test"})
            }
            _ => set(
                "prices.corn",
                json!(format!("{}.5 USD/bu", 3 + self.below(4))),
            ),
        }
    }
}

/// The sheet of a run of its own.
fn fresh(texts: &Value) -> Value {
    let texts = texts.as_array().unwrap().iter();
    let texts = texts.map(|text| {
        let part = |at: usize| text[at].as_str().unwrap().to_owned();
        (part(0), part(1).into_bytes())
    });
    let data = [
        (
            "boundary.geojson".to_owned(),
            small_field::boundary().into_bytes(),
        ),
        ("cores.csv".to_owned(), small_field::cores().into_bytes()),
    ];
    let files = Files::memory(texts.chain(data));
    let run = lowstave::run(&files, "plan.toml").unwrap();
    // Through text, as the answer comes.
    let text = serde_json::to_string(&run.sheet().unwrap()).unwrap();
    serde_json::from_str(&text).unwrap()
}

#[test]
fn each_of_two_hundred_random_changes_answers_as_a_run_of_its_own() {
    const CHANGES: usize = 200;
    let desk = Desk::of_small_field();
    let mut draw = Draw(20_270_302);
    let mut changes: Vec<Value> = Vec::new();
    let mut differed = 0;
    for at in 0..CHANGES {
        // One more change, one less, or a fresh start, as a hand on the sliders does.
        match draw.below(5) {
            0 => changes.clear(),
            1 => drop(changes.pop()),
            _ => {}
        }
        let change = draw.change();
        if change["what"] == "override" {
            // Two drawn places may not lie over each other.
            changes.retain(|known| known["what"] != "override");
        }
        changes.push(change);
        let reply = desk.answer(&json!(changes)).done();
        let wanted = fresh(&reply["texts"]);
        assert!(reply["sheet"] == wanted, "change {at}: {changes:?}");
        differed += usize::from(!reply["difference"].as_array().unwrap().is_empty());
    }
    assert!(differed > CHANGES / 4, "only {differed} changed anything");
    assert_eq!(desk.plan_text(), small_field::PLAN, "nothing was kept");
}

#[test]
fn the_difference_says_what_a_change_changes() {
    let desk = Desk::of_small_field();
    let change = json!([{"what": "set", "key": "budget.limit", "value": "2 USD/ac"}]);
    let reply = desk.answer(&change).done();
    let lines = reply["difference"].to_string();
    assert!(
        lines.contains("USD less") && lines.contains("ac less"),
        "{lines}"
    );
    let same = desk.answer(&json!([])).done();
    assert_eq!(
        (&same["difference"], &same["is_saved"]),
        (&json!([]), &json!(true))
    );
}

#[test]
fn maps_samples_and_values_belong_to_the_answer() {
    let desk = Desk::of_small_field();
    let answer = desk.answer(&json!([])).done();
    let id = &answer["id"];
    let grid = &answer["sheet"]["ground"]["grid"];
    let cells = grid[3].as_u64().unwrap() * grid[4].as_u64().unwrap();
    let layers = answer["sheet"]["layers"].as_array().unwrap();
    let drawn = layers
        .iter()
        .position(|layer| layer["is_drawn"] == true)
        .expect("a map is drawn");
    for part in ["values", "uncertainty"] {
        let map = desk.get(&format!("/api/answers/{id}/maps/{drawn}/{part}"));
        assert_eq!(
            (map.status, map.body.len() as u64),
            (200, 4 * cells),
            "{part}"
        );
    }
    let samples = desk.get(&format!("/api/answers/{id}/samples")).done();
    assert_eq!(samples[0]["samples"].as_array().unwrap().len(), 25);
    let values = desk
        .get(&format!("/api/answers/{id}/values/{drawn}"))
        .done();
    assert_eq!(values.as_array().unwrap().len(), 25);
    let sample = desk.get(&format!("/api/answers/{id}/samples/0/2")).done();
    assert_eq!((&sample["core"], &sample["row"]), (&json!("C3"), &json!(4)));
    assert!(sample["values"].to_string().contains("P ppm"), "{sample}");
    assert_eq!(
        desk.get(&format!("/api/answers/{id}/samples/0/999")).status,
        404
    );
    assert_eq!(desk.get("/api/answers/99999/samples").status, 404);
}

#[test]
fn a_strip_of_a_zone_that_is_gone_is_told_with_a_way_out() {
    let desk = Desk::of_small_field();
    let strips = "[strips]\nproducts = [{ name = \"lime tried\", rates = { lime = \"2000 lb/ac\" }, zones = [3] }] # own\nworth = \"4 bu/ac\"\nheader = \"30 ft\"\nlength = \"300 ft\"\n";
    let plan = format!("{}\n{strips}", small_field::PLAN);
    std::fs::write(desk.folder.join("plan.toml"), plan).unwrap();
    let fewer = json!({"what": "set", "key": "zones.count", "value": 2});
    let reply = desk.answer(&json!([fewer]));
    let said = reply.json();
    assert_eq!(
        (reply.status, said["code"].as_str()),
        (422, Some("strip-zone")),
        "{said}"
    );
    let text = said["problems"][0].as_str().unwrap();
    assert!(
        text.contains("no zone 3") && !text.contains("strips.products"),
        "{text}"
    );
    let answer = desk
        .answer(&json!([fewer, {"what": "strips_anywhere"}]))
        .done();
    let text = answer["texts"].to_string();
    assert!(
        text.contains("lime tried") && !text.contains("zones = [3]"),
        "{text}"
    );
}
