use std::collections::BTreeSet;

use crate::analyte::{Analyte, DepthRange, LayerKey, Method};
use crate::intake::survey::{LayerColumn, PointTable, Qualifier};
use crate::provenance::Place;

/// The first layer of an analyte at a depth that passes a test of its method.
pub(super) fn find<'a>(
    table: &'a PointTable,
    analyte: &Analyte,
    depth: Option<DepthRange>,
    fits: impl Fn(Option<&Method>) -> bool,
) -> Option<&'a LayerColumn> {
    table.layers.iter().find(|layer| {
        layer.key.analyte == *analyte && layer.key.depth == depth && fits(layer.key.method.as_ref())
    })
}

/// Whether the table has the analyte at a depth by any method.
pub(super) fn has(table: &PointTable, analyte: &Analyte, depth: Option<DepthRange>) -> bool {
    find(table, analyte, depth, |_| true).is_some()
}

/// The result of a row, where there is one.
pub(super) fn value(layer: &LayerColumn, row: usize) -> Option<f64> {
    layer
        .values
        .get(row)
        .copied()
        .filter(|value| value.is_finite())
}

/// A layer computed from others. Rows that were qualified in any of them are estimates.
pub(super) fn derived(
    key: LayerKey,
    how: String,
    unit: &str,
    values: Vec<f64>,
    from: &[&LayerColumn],
) -> LayerColumn {
    let rows: BTreeSet<u32> = from
        .iter()
        .flat_map(|layer| layer.qualified.iter().map(|(row, _)| *row))
        .collect();
    let has_value = |row: &u32| {
        values
            .get(*row as usize)
            .is_some_and(|value| value.is_finite())
    };
    let qualified = rows
        .into_iter()
        .filter(has_value)
        .map(|row| (row, Qualifier::Estimated))
        .collect();
    LayerColumn {
        key,
        column: how.into(),
        unit: unit.into(),
        values,
        qualified,
        derived: true,
    }
}

/// Number of rows with a result.
pub(super) fn count(values: &[f64]) -> usize {
    values.iter().filter(|value| value.is_finite()).count()
}

/// The place of a row in a column; the column alone where the row is not known.
pub(super) fn place(table: &PointTable, column: &LayerColumn, row: Option<usize>) -> Place {
    let place = Place::file(table.file.clone()).in_column(column.column.clone());
    match row.and_then(|row| table.row.get(row)) {
        Some(&row) => place.at_row(row),
        None => place,
    }
}

/// "row 4", "rows 4, 7 and 9", "rows 4, 7, 9 and 12 more": numbers as a spreadsheet shows them.
pub(super) fn list_rows(table: &PointTable, rows: &[usize]) -> String {
    const NAMED: usize = 3;
    let numbers: Vec<String> = rows
        .iter()
        .filter_map(|&row| table.row.get(row))
        .map(ToString::to_string)
        .collect();
    match numbers.as_slice() {
        [] => "no row".to_owned(),
        [only] => format!("row {only}"),
        [first @ .., last] if numbers.len() <= NAMED => {
            format!("rows {} and {last}", first.join(", "))
        }
        all => format!(
            "rows {} and {} more",
            all.iter()
                .take(NAMED)
                .cloned()
                .collect::<Vec<_>>()
                .join(", "),
            all.len() - NAMED
        ),
    }
}

/// Depth for people, in the words of a sentence; nothing where the layer has none.
pub(super) fn at_depth(depth: Option<DepthRange>) -> String {
    depth.map_or_else(String::new, |depth| format!(" at {}", depth.as_sampled()))
}

/// A method for people.
pub(super) fn by_method(method: Option<&Method>) -> String {
    method.map_or_else(|| "method not named".to_owned(), ToString::to_string)
}
