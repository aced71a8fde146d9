//! The farm's page in Chromium, at two sizes, in light and dark.

use std::process::Command;

use serde_json::{Value, json};

use super::browser::{root, tools};
use super::farm::farm;
use super::program::Desk;

fn way(size: (u32, u32)) {
    let Some(tools) = tools() else { return };
    let (_folder, home) = farm();
    let before = std::fs::read_to_string(home.join("farm.toml")).unwrap();
    let desk = Desk::of(&home);
    let output = Command::new("node")
        .arg(root().join("tests/desk/browser/farm_way.mjs"))
        .arg(&tools)
        .arg(root().join("tests/deliver/axe/axe.min.js"))
        .arg(&desk.address)
        .args([size.0.to_string(), size.1.to_string()])
        .args(std::env::var_os("LOWSTAVE_PICTURES"))
        .output()
        .unwrap();
    let text = String::from_utf8_lossy(&output.stdout);
    let told: Value = serde_json::from_str(text.trim()).unwrap_or_else(|error| {
        panic!(
            "{error}: {text} {}",
            String::from_utf8_lossy(&output.stderr)
        )
    });
    assert_eq!(told["done"], true, "{told:#}");
    for nothing in ["console", "outside", "violations", "overflow"] {
        assert_eq!(told[nothing], json!([]), "{nothing} at {size:?}");
    }
    assert!(told["passes"].as_u64().unwrap() > 50, "axe looked: {told}");
    assert!(!told["address"].as_str().unwrap().contains("token"));
    assert_eq!((&told["rows"], &told["grounds"]), (&json!(3), &json!(3)));
    let costs: Vec<f64> = told["sorted"]
        .as_array()
        .unwrap()
        .iter()
        .map(|cost| cost.as_str().unwrap().replace(',', "").parse().unwrap())
        .collect();
    assert!(costs.is_sorted_by(|a, b| a >= b), "{costs:?}");
    assert_eq!(told["focus"], "sort-4", "the keyboard stays on the heading");
    let slip = told["none"].as_str().unwrap();
    assert!(
        slip.contains("budget 0 USD") && slip.contains("USD less over all fields"),
        "{slip}"
    );
    assert!(
        told["kept"].as_str().unwrap().contains("1,500 USD"),
        "{told}"
    );
    assert_eq!(told["chosen"], 1);
    assert!(told["field"].as_str().unwrap().contains("/fields/"));
    assert!(
        told["says"]
            .as_str()
            .unwrap()
            .contains("Back to Three Alders")
    );
    println!("a budget was answered in ms: {}", told["milliseconds"]);
    let after = std::fs::read_to_string(home.join("farm.toml")).unwrap();
    assert_eq!(before, after, "Undo took back what was kept");
}

#[test]
fn the_farm_on_a_wide_screen() {
    way((1920, 1080));
}

#[test]
fn the_farm_on_a_phone() {
    way((390, 844));
}
