//! The `[[points]]` tables of the plan as typed: one for each file of cores, pushes or readings.

use super::read_texts::read_texts;
use super::reading::{Item, TableReader, Typed, Written};
use crate::provenance::Place;

pub(super) struct PointsTable {
    pub place: Place,
    pub file: Typed<String>,
    pub kind: Typed<String>,
    pub crs: Typed<String>,
    pub x: Typed<String>,
    pub y: Typed<String>,
    pub id: Typed<String>,
    pub depth: Typed<String>,
    pub depth_column: Typed<String>,
    pub top: Typed<String>,
    pub bottom: Typed<String>,
    pub depth_unit: Typed<String>,
    pub ignore: Typed<Vec<String>>,
    pub leave_out: Vec<LeftOutTable>,
    pub columns: Vec<(Written<String>, ColumnTable)>,
    pub unit: Typed<String>,
    pub base_area: Typed<String>,
    pub moisture: Typed<String>,
    pub blank_below: Typed<String>,
    pub depths: Typed<Vec<(Written<String>, Written<String>)>>,
    pub method: Typed<String>,
    pub sheet: Typed<String>,
    pub layer: Typed<String>,
    pub skip_rows: Typed<u64>,
    pub laboratory: Typed<String>,
    pub sampled: Typed<toml::value::Datetime>,
    pub numbers: NumbersTable,
}

/// A sample that is not used.
pub(super) struct LeftOutTable {
    pub place: Place,
    pub core: Typed<String>,
    pub row: Typed<u64>,
    pub why: Typed<String>,
}

impl LeftOutTable {
    fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            place: table.place(),
            core: table.text("core", "\"C7\", the sample's name"),
            row: table.whole("row", "row = 12, a row of the file"),
            why: table.text("why", "\"pulled in a spoil heap\""),
        };
        table.finish();
        read
    }
}

/// How numbers are written, in a file or a column.
pub(super) struct NumbersTable {
    pub decimal: Typed<String>,
    pub thousands: Typed<String>,
    pub na: Typed<Vec<String>>,
}

pub(super) struct ColumnTable {
    pub place: Place,
    pub is: Typed<String>,
    pub method: Typed<String>,
    pub unit: Typed<String>,
    pub depth: Typed<String>,
    pub sure: Typed<bool>,
    pub numbers: NumbersTable,
}

impl NumbersTable {
    fn read(table: &mut TableReader<'_>) -> Self {
        Self {
            decimal: table.text("decimal", "\",\" or \".\""),
            thousands: table.text("thousands", "\",\", \".\", \" \" or \"'\""),
            na: table.texts("na", "na = [\"x\", \"-1\"], texts that mean no result"),
        }
    }
}

impl PointsTable {
    pub(super) fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            place: table.place(),
            file: table.text("file", "\"cores.csv\""),
            kind: table.text("kind", "\"cores\", \"cone\" or \"readings\""),
            crs: table.text("crs", "\"EPSG:4326\""),
            x: table.text("x", "\"lon\" (a column name)"),
            y: table.text("y", "\"lat\" (a column name)"),
            id: table.text("id", "\"core\" (a column name)"),
            depth: table.text("depth", "\"0-6 in\""),
            depth_column: table.text("depth_column", "\"depth\" (a column name)"),
            top: table.text("top", "\"from_in\" (a column name)"),
            bottom: table.text("bottom", "\"to_in\" (a column name)"),
            depth_unit: table.text("depth_unit", "\"in\""),
            columns: read_columns(&mut table),
            ignore: table.texts(
                "ignore",
                "ignore = [\"Lab No\", \"Remarks\"], a list of column names",
            ),
            leave_out: read_left_out(&mut table),
            unit: table.text("unit", "\"psi\""),
            base_area: table.text("base_area", "\"130 mm2\""),
            depths: read_depth_marks(&mut table),
            moisture: table.text("moisture", "\"field capacity\""),
            blank_below: table.text("blank_below", "\"refused\" or \"not pushed\""),
            method: table.text("method", "\"mehlich-3\""),
            sheet: table.text("sheet", "\"Results\", a sheet of the spreadsheet"),
            layer: table.text("layer", "\"cores\", a layer of the GeoPackage"),
            skip_rows: table.whole("skip_rows", "skip_rows = 4, a whole number without quotes"),
            laboratory: table.text("laboratory", "\"the laboratory's name\""),
            sampled: table.date("sampled", "sampled = 2026-10-14, without quotes"),
            numbers: NumbersTable::read(&mut table),
        };
        table.finish();
        read
    }
}

fn read_left_out(table: &mut TableReader<'_>) -> Vec<LeftOutTable> {
    let tables = table.tables("leave_out").into_given().unwrap_or_default();
    tables.into_iter().map(LeftOutTable::read).collect()
}

fn read_columns(table: &mut TableReader<'_>) -> Vec<(Written<String>, ColumnTable)> {
    let wanted = "[points.columns] and below it lines such as \"pH\" = { is = \"ph\" }";
    let Some(columns) = table.table("columns", wanted).into_given() else {
        return Vec::new();
    };
    let read = |(name, item): (Written<String>, Item<'_>)| {
        let table = item.as_table();
        if table.is_none() {
            item.refuse("a table such as { is = \"ph\", method = \"water\" }");
        }
        table.map(|table| (name, ColumnTable::read(table)))
    };
    columns.entries().into_iter().filter_map(read).collect()
}

fn read_depth_marks(table: &mut TableReader<'_>) -> Typed<Vec<(Written<String>, Written<String>)>> {
    let wanted = "depths = { \"d2\" = \"2 in\", \"d4\" = \"4 in\" }, column name and depth";
    table
        .table("depths", wanted)
        .map(|marks| read_texts(&marks, "a depth such as \"2 in\""))
}

impl ColumnTable {
    fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            place: table.place(),
            is: table.text("is", "\"ph\""),
            method: table.text("method", "\"water\""),
            unit: table.text("unit", "\"ppm\""),
            depth: table.text("depth", "\"0-6 in\""),
            sure: table.flag("sure"),
            numbers: NumbersTable::read(&mut table),
        };
        table.finish();
        read
    }
}
