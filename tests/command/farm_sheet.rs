//! What the farm's sheet says of its money and its fields.

use std::fs;

use crate::farm_made::{another, farm_file, farm_of, write_all};
use crate::program::Folder;

fn farm_with(limit: &str) -> Folder {
    let budget = format!("\n[budget]\nlimit = \"{limit}\"\n");
    let folder = Folder::with(&[("farm.toml", &farm_file("[\"*/plan.toml\"]", &budget))]);
    write_all(
        folder.path(),
        (0..4).flat_map(|number| another(number).files()),
    );
    folder
}

/// The sheet of a farm as one line.
fn sheet(folder: &Folder) -> String {
    let ran = folder.run(&["farm", "farm.toml", "--out", "out"]);
    assert!(ran.code < 2, "{}", ran.stderr);
    let text = fs::read_to_string(folder.path().join("out/farm.txt")).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn what_is_said_of_the_farms_money_holds_for_whole_zones_and_names_the_fields() {
    let sheet = sheet(&farm_with("400 USD"));
    assert!(!sheet.contains("per dollar"), "{sheet}");
    assert!(sheet.contains("buys fixes for whole zones"), "{sheet}");
    let (_, short) = sheet
        .split_once("less than all that is recommended: ")
        .unwrap_or_else(|| panic!("{sheet}"));
    assert!(short.starts_with("Field "), "{short}");
    assert!(
        short.contains("All that the fields would take costs"),
        "{short}"
    );
}

#[test]
fn a_budget_for_each_area_stands_on_the_farms_sheet() {
    let none = sheet(&farm_with("0 USD/ac"));
    assert!(
        none.contains("Fields with a budget of their own: Field 0 0 USD (pays for less than"),
        "{none}"
    );
    let plenty = sheet(&farm_with("5000 USD/ac"));
    assert!(
        plenty.contains("Fields with a budget of their own: Field 0 "),
        "{plenty}"
    );
    assert!(!plenty.contains("pays for less"), "{plenty}");
    assert!(!sheet(&farm_of(2)).contains("budget of their own"));
}

#[test]
fn every_field_without_rates_is_named_on_the_farms_sheet() {
    let folder = farm_of(1);
    let names: Vec<String> = (0..15).map(|number| format!("bad{number:02}")).collect();
    // Some have many things wrong, and still one line each.
    let plans = names.iter().map(|name| {
        let text = "corp = 1\nfeild = 2\nsaeson = 3\n".to_owned();
        (format!("{name}/plan.toml"), text)
    });
    write_all(folder.path(), plans);
    let ran = folder.run(&["farm", "farm.toml", "--out", "out"]);
    assert_eq!(ran.code, 1, "{}", ran.stderr);
    for file in ["out/farm.txt", "out/farm.html"] {
        let sheet = fs::read_to_string(folder.path().join(file)).unwrap();
        for name in &names {
            assert!(sheet.contains(name.as_str()), "{file}: {name}: {sheet}");
        }
    }
}

#[test]
fn two_fields_of_one_printed_name_can_be_told_apart() {
    let folder = farm_of(3);
    let plan = folder.path().join("f001/plan.toml");
    let text = fs::read_to_string(&plan).unwrap();
    assert!(text.contains("\"Field 1\""));
    fs::write(plan, text.replace("\"Field 1\"", "\"Field 0\"")).unwrap();
    let sheet = sheet(&folder);
    for name in ["Field 0 (f000)", "Field 0 (f001)", "Field 2"] {
        assert!(sheet.contains(name), "{name}: {sheet}");
    }
    assert!(!sheet.contains("Field 2 (f002)"), "{sheet}");
}
