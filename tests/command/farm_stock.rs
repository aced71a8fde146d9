//! A farm's stock, which is there once for all fields.

use std::fs;

use crate::farm_made::{farm_file, generated, write_all};
use crate::program::Folder;

/// The sample's fields with little phosphorus and potassium, and a shed.
fn farm_with(on_hand: &str) -> Folder {
    let rest = format!(
        "\n[yield_goal]\ncorn = \"180 bu/ac\"\nsoybean = \"55 bu/ac\"\n\n[shed]\nproducts = [\"gypsum\", \"lime\", \"poultry_litter\", \"potassium_sulfate\"]\non_hand = {{ {on_hand} }}\n"
    );
    let text = farm_file("[\"*/plan.toml\"]", &rest);
    let text = text.replacen("season =", "region = \"tri-state\"\nseason =", 1);
    let folder = Folder::with(&[("farm.toml", &text)]);
    let files = generated().into_iter().flat_map(|field| field.files());
    write_all(folder.path(), files.map(hungry));
    folder
}

fn hungry((name, text): (String, String)) -> (String, String) {
    if !name.ends_with("cores.csv") {
        return (name, text);
    }
    let mut rows = text.lines();
    let head = rows.next().unwrap();
    let at = |column: &str| head.split(',').position(|name| name == column).unwrap();
    let (phosphorus, potassium) = (at("P ppm"), at("K ppm"));
    let rows = rows.map(|row| {
        let mut cells: Vec<&str> = row.split(',').collect();
        cells[phosphorus] = "12";
        cells[potassium] = "70";
        cells.join(",")
    });
    let lines: Vec<String> = std::iter::once(head.to_owned()).chain(rows).collect();
    (name, lines.join("\n") + "\n")
}

/// The cells of a line of the bill, by its first three.
fn bill_line(folder: &Folder, start: &str) -> Vec<String> {
    let bill = fs::read_to_string(folder.path().join("out/bill.csv")).unwrap();
    let line = bill.lines().find(|line| line.starts_with(start));
    let line = line.unwrap_or_else(|| panic!("no {start} in {bill}"));
    line.split(',').map(str::to_owned).collect()
}

#[test]
fn stock_of_what_follows_the_soil_is_told_once_and_not_split_over_the_fields() {
    // Litter is scarce, lime is not.
    let folder = farm_with("poultry_litter = \"20 ton\", lime = \"60 ton\"");
    let ran = folder.run(&["farm", "farm.toml", "--out", "out", "--files", "rates"]);
    assert!(ran.code < 2, "{}", ran.stderr);
    let shared = fs::read_to_string(folder.path().join("out/parts/shared.json")).unwrap();
    assert!(shared.contains("creek"), "nothing was scarce: {shared}");
    let all = bill_line(&folder, "buy,,calcitic lime");
    assert_eq!(all[6], "0", "{all:?}");
    // One field takes more than its third of what is on hand.
    let creek = bill_line(&folder, "field,creek,calcitic lime");
    assert!(creek[3].parse::<f64>().unwrap() > 40_000.0, "{creek:?}");
    for sheet in [
        "farm.txt",
        "farm.html",
        "fields/creek/report.txt",
        "fields/knoll/report.txt",
    ] {
        let text = fs::read_to_string(folder.path().join("out").join(sheet)).unwrap();
        assert!(!text.contains("are on hand"), "{sheet}: {text}");
    }
}
