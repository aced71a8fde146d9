//! The mixing sheet by the `csv` crate.

use super::{Invented, delivered, text_of};

fn rows(text: &str) -> Vec<csv::StringRecord> {
    csv::Reader::from_reader(text.as_bytes())
        .into_records()
        .map(|row| row.expect("every row has all columns"))
        .collect()
}

fn amount(row: &csv::StringRecord) -> f64 {
    row[4].parse().expect("a plain number")
}

#[test]
fn loads_zones_and_shopping_list_add_up_to_the_same_totals() {
    let delivery = delivered(&Invented::small());
    let rows = rows(&text_of(&delivery, "mix.csv"));
    let sum = |sheet: &str, item: &str| {
        rows.iter()
            .filter(|row| &row[0] == sheet && &row[3] == item)
            .map(amount)
            .sum::<f64>()
    };
    for item in ["Gypsum", "Ag lime"] {
        assert!(
            (sum("zone", item) - sum("buy", item)).abs() < 1.0,
            "{item}: to one unit"
        );
    }
    for item in [
        "Water, half",
        "Liquid fish, acidified",
        "Cane molasses",
        "Soft rock phosphate, fine",
    ] {
        assert!(sum("buy", item) > 1.0);
        assert!(
            (sum("load", item) - sum("buy", item)).abs() < 1.0,
            "{item}: to one unit"
        );
    }
    let starter = delivery
        .summary
        .products
        .iter()
        .find(|product| product.product == "starter")
        .unwrap();
    assert!((sum("zone", "Starter") - starter.total).abs() < 1.0);
}

#[test]
fn packs_are_whole_and_enough() {
    let rows = rows(&text_of(&delivered(&Invented::small()), "mix.csv"));
    let fish = rows
        .iter()
        .find(|row| &row[0] == "buy" && row[3].starts_with("Liquid fish"))
        .unwrap();
    assert_eq!((&fish[6], &fish[7]), ("1", "275 gal tote"));
}

#[test]
fn the_fill_sheet_fits_80_columns_and_names_the_order() {
    let text = text_of(&delivered(&Invented::small()), "mix.txt");
    assert!(text.lines().all(|line| line.chars().count() <= 80));
    let place = |word: &str| {
        text.find(word)
            .unwrap_or_else(|| panic!("{word} is missing in {text}"))
    };
    assert!(place("1. Water, half") < place("2. Liquid fish"));
    assert!(place("2. Liquid fish") < place("4. Soft rock phosphate"));
}
