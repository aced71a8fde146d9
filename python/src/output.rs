//! The table of zones as Arrow: the columns of the farm's `zones.parquet`, then `code` and `error`. A field without a result is a row of its
//! own, with nothing but its name, code and error.

use std::collections::HashMap;
use std::sync::Arc;

use arrow_array::builder::{
    BinaryBuilder, Float64Builder, ListBuilder, MapBuilder, MapFieldNames, StringBuilder,
};
use arrow_array::{ArrayRef, Float64Array, Int32Array, RecordBatch, StringArray, StructArray};
use arrow_schema::{ArrowError, DataType, Field, Fields, Schema};
use lowstave::farm::{Column, FieldRecord, GEO, Problem, ZoneTable};
use pyo3::PyErr;
use pyo3::exceptions::PyRuntimeError;

use crate::field::FieldResult;

/// A row of the table: the field, its code and error, and which row of its zones it is.
struct Row<'r> {
    id: &'r str,
    code: i32,
    error: Option<String>,
    zone: Option<usize>,
}

/// The zones of fields, in their order.
pub(crate) fn zones(results: &[(String, FieldResult)]) -> Result<RecordBatch, PyErr> {
    made(results).map_err(|cause| PyRuntimeError::new_err(format!("the table of zones: {cause}")))
}

fn made(results: &[(String, FieldResult)]) -> Result<RecordBatch, ArrowError> {
    let done = |(_, result): &(String, FieldResult)| result.as_ref().ok().cloned();
    let records: Vec<FieldRecord> = results.iter().filter_map(done).collect();
    let table = ZoneTable::new(&records);
    let rows = rows(results);
    let at: Vec<Option<usize>> = rows.iter().map(|row| row.zone).collect();
    let mut fields = Vec::new();
    let mut columns: Vec<ArrayRef> = Vec::new();
    let mut add = |name: &str, array: ArrayRef| {
        fields.push(Field::new(name, array.data_type().clone(), true));
        columns.push(array);
    };
    for (name, column) in &table.columns {
        match *name {
            "field_id" => add(
                name,
                Arc::new(StringArray::from_iter_values(rows.iter().map(|row| row.id))),
            ),
            name => add(name, array(column, &at)?),
        }
    }
    let codes = rows.iter().map(|row| row.code);
    add("code", Arc::new(Int32Array::from_iter_values(codes)));
    let errors = rows.iter().map(|row| row.error.as_deref());
    add("error", Arc::new(errors.collect::<StringArray>()));
    let metadata = HashMap::from([(GEO.to_owned(), table.geo)]);
    RecordBatch::try_new(
        Arc::new(Schema::new_with_metadata(fields, metadata)),
        columns,
    )
}

fn rows(results: &[(String, FieldResult)]) -> Vec<Row<'_>> {
    let mut rows = Vec::new();
    let mut next = 0;
    for (id, result) in results {
        match result {
            Ok(record) => {
                let code = i32::from(!record.row.looks.is_empty());
                rows.extend((next..next + record.pieces.len()).map(|zone| Row {
                    id,
                    code,
                    error: None,
                    zone: Some(zone),
                }));
                next += record.pieces.len();
            }
            Err(problems) => rows.push(Row {
                id,
                code: problems
                    .iter()
                    .map(|problem| problem.code)
                    .max()
                    .map_or(3, i32::from),
                error: Some(told(problems)),
                zone: None,
            }),
        }
    }
    rows
}

/// One problem a line, each with its way out.
fn told(problems: &[Problem]) -> String {
    let line = |problem: &Problem| match problem.way_out.as_str() {
        "" => problem.what.clone(),
        way_out => format!("{}; {way_out}", problem.what),
    };
    problems.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// A column with its rows at those places; nothing where there is no row.
fn array(column: &Column, rows: &[Option<usize>]) -> Result<ArrayRef, ArrowError> {
    Ok(match column {
        Column::Text(cells) => {
            let cell = |row: &Option<usize>| row.and_then(|row| cells[row].as_deref());
            Arc::new(rows.iter().map(cell).collect::<StringArray>())
        }
        Column::Whole(cells) => {
            let cell = |row: &Option<usize>| row.and_then(|row| cells[row]);
            Arc::new(rows.iter().map(cell).collect::<Int32Array>())
        }
        Column::Number(cells) => {
            let cell = |row: &Option<usize>| row.and_then(|row| cells[row]);
            Arc::new(rows.iter().map(cell).collect::<Float64Array>())
        }
        Column::Bytes(cells) => {
            let mut built = BinaryBuilder::new();
            for row in rows {
                built.append_option(row.and_then(|row| cells[row].as_deref()));
            }
            Arc::new(built.finish())
        }
        Column::Texts(cells) => {
            let mut built = ListBuilder::new(StringBuilder::new());
            for row in rows {
                let texts = row.map(|row| cells[row].iter().map(|text| Some(text.as_str())));
                built.append_option(texts);
            }
            Arc::new(built.finish())
        }
        Column::Map(cells) => map(cells, rows)?,
        Column::Box(cells) => boxes(cells, rows),
    })
}

fn map(cells: &[Vec<(String, f64)>], rows: &[Option<usize>]) -> Result<ArrayRef, ArrowError> {
    let names = MapFieldNames {
        entry: "entries".to_owned(),
        key: "key".to_owned(),
        value: "value".to_owned(),
    };
    let mut built = MapBuilder::new(Some(names), StringBuilder::new(), Float64Builder::new());
    for row in rows {
        for (name, number) in row.iter().flat_map(|row| &cells[*row]) {
            built.keys().append_value(name);
            built.values().append_value(*number);
        }
        built.append(row.is_some())?;
    }
    Ok(Arc::new(built.finish()))
}

fn boxes(cells: &[[f64; 4]], rows: &[Option<usize>]) -> ArrayRef {
    const SIDES: [&str; 4] = ["xmin", "ymin", "xmax", "ymax"];
    let side = |at: usize| -> ArrayRef {
        let cell = |row: &Option<usize>| row.map(|row| cells[row][at]);
        Arc::new(rows.iter().map(cell).collect::<Float64Array>())
    };
    let fields: Fields = SIDES
        .iter()
        .map(|name| Field::new(*name, DataType::Float64, true))
        .collect();
    let is_there: Vec<bool> = rows.iter().map(Option::is_some).collect();
    Arc::new(StructArray::new(
        fields,
        (0..4).map(side).collect(),
        Some(is_there.into()),
    ))
}
