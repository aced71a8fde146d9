//! `[strips]` as typed.

use super::read_texts::read_texts;
use super::reading::{AutoOr, Item, TableReader, Typed, Written};
use super::results_table::{ResultColumn, read_columns};
use crate::provenance::Place;

/// The table as typed.
pub(super) struct StripsTable {
    pub place: Place,
    pub products: Typed<Vec<TreatmentEntry>>,
    pub together: Typed<bool>,
    pub count: Typed<AutoOr>,
    pub worth: Typed<String>,
    pub length: Typed<String>,
    pub header: Typed<String>,
    pub position_error: Typed<String>,
    pub spread: Typed<String>,
    pub earlier_harvest: Typed<String>,
    pub earlier_columns: Vec<(Written<String>, ResultColumn)>,
    pub avoid_passes: Typed<Vec<f64>>,
    pub seed: Typed<u64>,
}

/// `"starter"` or `{ name = "no starter", rates = { starter = "0 gal/ac" } }`.
pub(super) struct TreatmentEntry {
    pub place: Place,
    pub name: Typed<String>,
    pub product: Option<Written<String>>,
    pub rates: Vec<(Written<String>, Written<String>)>,
    pub zones: Typed<Vec<f64>>,
}

impl StripsTable {
    pub(super) fn read(mut table: TableReader<'_>) -> Self {
        let wanted = "products = [\"starter\"], or a list of treatments such as { name = \"no starter\", rates = { starter = \"0 gal/ac\" } }";
        let read = Self {
            place: table.place(),
            products: table
                .items("products", wanted)
                .map(|items| items.iter().filter_map(TreatmentEntry::read).collect()),
            together: table.flag("together"),
            count: table.auto_or_number("count"),
            worth: table.text("worth", "\"4 bu/ac\""),
            length: table.text("length", "\"300 ft\""),
            header: table.text("header", "\"30 ft\", the width of the combine's header"),
            position_error: table.text("position_error", "\"1 ft\""),
            spread: table.text("spread", "\"6 bu/ac\""),
            earlier_harvest: table.text("earlier_harvest", "\"harvest-2026.csv\""),
            earlier_columns: table
                .table(
                    "earlier_columns",
                    "[strips.earlier_columns] and below it \"Flow\" = { is = \"flow\", unit = \"lb/s\" }",
                )
                .into_given()
                .map(|columns| read_columns(&columns))
                .unwrap_or_default(),
            avoid_passes: table.numbers(
                "avoid_passes",
                "avoid_passes = [3, 9], passes counted from the left edge",
            ),
            seed: table.whole("seed", "seed = 1, a whole number without quotes"),
        };
        table.finish();
        read
    }
}

impl TreatmentEntry {
    fn read(item: &Item<'_>) -> Option<Self> {
        if let Some(product) = item.as_text() {
            return Some(Self {
                place: product.place.clone(),
                name: Typed::Absent,
                product: Some(product),
                rates: Vec::new(),
                zones: Typed::Absent,
            });
        }
        let Some(mut table) = item.as_table() else {
            item.refuse("a product such as \"starter\", or { name = \"no starter\", rates = { starter = \"0 gal/ac\" } }");
            return None;
        };
        let wanted = "rates = { starter = \"0 gal/ac\" }";
        let read = Self {
            place: table.place(),
            name: table.text("name", "\"no starter\""),
            product: None,
            zones: table.numbers("zones", "zones = [8], numbers on the map without quotes"),
            rates: table
                .table("rates", wanted)
                .into_given()
                .map(|rates| read_texts(&rates, "a rate such as \"0 gal/ac\""))
                .unwrap_or_default(),
        };
        table.finish();
        Some(read)
    }
}
