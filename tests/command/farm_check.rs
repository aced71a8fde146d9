//! `check` of a farm: where each value comes from.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::farm_made::{farm_file, farm_of};
use crate::program::run_in;

fn value<'a>(field: &'a Value, key: &str) -> &'a Value {
    let values = field["values"].as_array().unwrap();
    values
        .iter()
        .find(|value| value["key"] == key)
        .unwrap_or_else(|| panic!("{key} in {values:?}"))
}

#[test]
fn a_fields_own_key_wins_and_the_others_come_from_the_farm() {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/three-alders");
    let ran = run_in(&sample, &["check", "farm.toml", "--json"]);
    assert!(ran.code < 2, "{}", ran.stderr);
    let checked = ran.json();
    let fields = checked["fields"].as_array().unwrap();
    let ids: Vec<&str> = fields
        .iter()
        .map(|field| field["field_id"].as_str().unwrap())
        .collect();
    assert_eq!(ids, ["creek", "home", "knoll"]);
    let (creek, knoll) = (&fields[0], &fields[2]);
    assert_eq!(value(creek, "machine.tank")["value"], "\"400 gal\"");
    assert_eq!(value(creek, "machine.tank")["file"], "farm.toml");
    assert_eq!(value(knoll, "machine.tank")["value"], "\"200 gal\"");
    assert_eq!(value(knoll, "machine.tank")["file"], "plan.toml");
    assert_eq!(value(knoll, "machine.swath")["inherited"], true);
    assert_eq!(value(knoll, "people.date")["value"], "2027-03-02");
    // The farm's budget is no field's.
    let values = creek["values"].as_array().unwrap();
    assert!(values.iter().all(|value| value["key"] != "budget.limit"));
    let page = run_in(&sample, &["check", "farm.toml"]).stdout;
    assert!(
        page.contains("From the farm file for creek, home"),
        "{page}"
    );
    assert!(
        page.contains("prices.lime = \"45 USD/ton\" (farm.toml row"),
        "{page}"
    );
}

#[test]
fn a_rulebook_of_the_farm_lies_beside_the_farm_file_and_a_price_of_a_field_wins() {
    let folder = farm_of(2);
    let rest = "\n[rules]\nfile = \"own.toml\"\n\n[prices]\nlime = \"45 USD/ton\"\ngypsum = \"50 USD/ton\"\n";
    fs::write(
        folder.path().join("farm.toml"),
        farm_file("[\"*/plan.toml\"]", rest),
    )
    .unwrap();
    fs::write(folder.path().join("own.toml"), "").unwrap();
    let plan = folder.path().join("f001/plan.toml");
    let text = fs::read_to_string(&plan).unwrap();
    fs::write(&plan, text + "\n[prices]\nlime = \"60 USD/ton\"\n").unwrap();
    let checked = folder.run(&["check", ".", "--json"]).json();
    let field = &checked["fields"][1];
    assert!(
        field["exit_code"].as_u64().unwrap() < 2,
        "{}",
        field["problems"]
    );
    assert_eq!(value(field, "rules.file")["value"], "\"../own.toml\"");
    assert_eq!(value(field, "prices.lime")["value"], "\"60 USD/ton\"");
    assert_eq!(value(field, "prices.gypsum")["file"], "farm.toml");
}

/// What only shows when the stages meet still names the farm file.
#[test]
fn a_product_that_is_not_known_is_told_with_its_row_in_the_farm_file() {
    let folder = farm_of(1);
    let rest = "\n[prices]\nmoondust = \"45 USD/ton\"\n";
    fs::write(
        folder.path().join("farm.toml"),
        farm_file("[\"*/plan.toml\"]", rest),
    )
    .unwrap();
    let told = folder
        .run(&["farm", "farm.toml", "--out", "out", "--json"])
        .json();
    let what = told["problems"][0]["what"].as_str().unwrap_or_default();
    assert!(
        what.contains("farm.toml, row 14") && what.contains("moondust"),
        "{told}"
    );
}
