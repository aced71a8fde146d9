//! `[[results]]` as typed.

use super::reading::{Item, TableReader, Typed, Written};
use crate::provenance::Place;

/// One file of results as typed.
pub(super) struct ResultsTable {
    pub place: Place,
    pub file: Typed<String>,
    pub kind: Typed<String>,
    pub product: Typed<String>,
    pub crs: Typed<String>,
    pub season: Typed<u64>,
    pub date: Typed<toml::value::Datetime>,
    pub columns: Vec<(Written<String>, ResultColumn)>,
}

/// `{ is = "flow", unit = "lb/s" }`.
pub(super) struct ResultColumn {
    pub place: Place,
    pub is: Typed<String>,
    pub unit: Typed<String>,
}

impl ResultsTable {
    pub(super) fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            place: table.place(),
            file: table.text("file", "\"harvest.csv\""),
            kind: table.text("kind", "\"yield\""),
            product: table.text("product", "\"starter\""),
            crs: table.text("crs", "\"EPSG:4326\""),
            season: table.whole("season", "season = 2027, a year without quotes"),
            date: table.date("date", "date = 2027-04-20, without quotes"),
            columns: table
                .table(
                    "columns",
                    "[results.columns] and below it \"Flow\" = { is = \"flow\", unit = \"lb/s\" }",
                )
                .into_given()
                .map(|columns| read_columns(&columns))
                .unwrap_or_default(),
        };
        table.finish();
        read
    }
}

/// What the user says of the columns of a file of results.
pub(super) fn read_columns(columns: &TableReader<'_>) -> Vec<(Written<String>, ResultColumn)> {
    let read = |(name, item): (Written<String>, Item<'_>)| {
        let Some(mut table) = item.as_table() else {
            item.refuse("what the column is, such as { is = \"flow\", unit = \"lb/s\" }");
            return None;
        };
        let column = ResultColumn {
            place: table.place(),
            is: table.text("is", "\"flow\""),
            unit: table.text("unit", "\"lb/s\""),
        };
        table.finish();
        Some((name, column))
    };
    columns.entries().into_iter().filter_map(read).collect()
}
