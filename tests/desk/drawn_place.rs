//! A rate for a place that is drawn on the map.

use serde_json::{Value, json};

use super::program::Desk;

/// Corners of a square in the middle of the small field, metres on its plane.
const SQUARE: [[f64; 2]; 4] = [[-60.0, -60.0], [60.0, -60.0], [60.0, 60.0], [-60.0, 60.0]];

fn corners(desk: &Desk, answer: &Value, places: &[[f64; 2]]) -> Value {
    let address = format!("/api/answers/{}/places", answer["id"]);
    desk.post(&address, &json!(places)).done()
}

fn said(inside: &Value, rate: &str) -> Value {
    json!({"what": "override", "inside": inside, "product": "lime", "rate": rate, "why": "a spoil heap"})
}

#[test]
fn a_drawn_place_is_tried_kept_taken_and_taken_back() {
    let desk = Desk::of_small_field();
    let before = desk.answer(&json!([])).done();
    let zones = before["sheet"]["zones"].as_array().unwrap().len();
    let inside = corners(&desk, &before, &SQUARE);
    assert_eq!(inside.as_array().unwrap().len(), 4);
    let change = said(&inside, "1200 lb/ac");
    let tried = desk.answer(&json!([change])).done();
    let rows = tried["sheet"]["zones"].as_array().unwrap();
    assert_eq!(rows.len(), zones + 1);
    assert!(
        rows[zones]["rates"].to_string().contains("1,200"),
        "{}",
        rows[zones]["rates"]
    );
    let place = format!("drawn place, zone {}", zones + 1);
    assert_eq!(tried["overrides"][0]["place"], json!(place));
    assert!(
        tried["difference"]
            .to_string()
            .contains(&format!("{} zones instead of {zones}", zones + 1))
    );
    let keep = json!({"plan": desk.plan(), "changes": [change]});
    desk.post("/api/keep", &keep).done();
    assert!(
        desk.plan_text().contains("inside = [[-95."),
        "{}",
        desk.plan_text()
    );
    let kept = desk.answer(&json!([])).done();
    assert_eq!(kept["sheet"]["zones"], tried["sheet"]["zones"]);
    let zip = desk.get(&format!("/api/answers/{}/zip", kept["id"]));
    super::take::is_what_plan_writes(&desk, &zip.body);
    let without = desk
        .answer(&json!([{"what": "no_override", "at": 0}]))
        .done();
    assert_eq!(without["sheet"]["zones"], before["sheet"]["zones"]);
    desk.post("/api/back", &json!({"plan": desk.plan()})).done();
    assert!(!desk.plan_text().contains("inside"), "{}", desk.plan_text());
}

#[test]
fn the_cap_of_a_drawn_place_holds_and_is_told() {
    let desk = Desk::of_small_field();
    let before = desk.answer(&json!([])).done();
    let inside = corners(&desk, &before, &SQUARE);
    let tried = desk.answer(&json!([said(&inside, "30000 lb/ac")])).done();
    let zones = tried["sheet"]["zones"].as_array().unwrap();
    let last = zones.last().unwrap()["rates"].to_string();
    assert!(!last.contains("30,000"), "{last}");
    let number = zones.len();
    let remarks = tried["sheet"]["remarks"].to_string();
    assert!(
        remarks.contains(&format!("zone {number}")) && remarks.contains("cut"),
        "{remarks}"
    );
}

#[test]
fn a_place_that_cannot_be_is_refused_in_words_of_the_page() {
    let desk = Desk::of_small_field();
    let before = desk.answer(&json!([])).done();
    let crossing = [SQUARE[0], SQUARE[2], SQUARE[1], SQUARE[3]];
    let small = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]];
    let far = SQUARE.map(|[x, y]| [x + 5_000.0, y]);
    let cases = [
        (&crossing[..], "crosses or touches itself"),
        (&small, "the drawn place"),
        (&far, "no zone holds"),
        (&SQUARE[..2], "3 to 1000 different corners"),
    ];
    for (places, words) in cases {
        let inside = corners(&desk, &before, places);
        let reply = desk.answer(&json!([said(&inside, "500 lb/ac")]));
        let text = String::from_utf8_lossy(&reply.body).into_owned();
        assert_eq!(reply.status, 422, "{text}");
        assert!(text.contains(words), "{words:?} in {text}");
    }
    let both = json!({"what": "override", "at": [-95.8, 44.2], "inside": [[-95.8, 44.2]], "product": "lime", "rate": "1 lb/ac", "why": "x"});
    assert_eq!(desk.answer(&json!([both])).status, 400);
    let many = json!(vec![[-95.8, 44.2]; 1001]);
    assert_eq!(desk.answer(&json!([said(&many, "500 lb/ac")])).status, 400);
    let text = json!([["a", "b"]]);
    assert_eq!(desk.answer(&json!([said(&text, "500 lb/ac")])).status, 400);
    assert_eq!(desk.plan_text(), super::small_field::PLAN);
}
