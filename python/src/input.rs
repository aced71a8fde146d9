//! The table of fields: `field_id`, `plan` (the text of the plan file) and `files` (name to bytes), in any of Arrow's forms of texts and bytes.

use arrow_array::cast::AsArray as _;
use arrow_array::{Array, MapArray, RecordBatch, StructArray};
use arrow_schema::DataType;
use lowstave::Files;

use crate::field::{FieldInput, PLAN};

/// The rows of a table of fields.
pub(crate) fn fields(batch: &RecordBatch) -> Result<Vec<FieldInput>, String> {
    let ids = Texts::new(column(batch, "field_id")?, "field_id")?;
    let plans = Texts::new(column(batch, "plan")?, "plan")?;
    let files = map(column(batch, "files")?)?;
    let row = |row: usize| -> Result<FieldInput, String> {
        let id = ids.get(row).ok_or_else(|| {
            format!("row {row} has no field_id; each field needs a name of its own")
        })?;
        Ok(FieldInput {
            id: id.to_owned(),
            files: match plans.get(row) {
                Some(plan) => named(files, row, plan),
                None => Err("it has no plan; column plan holds the text of its plan file".into()),
            },
        })
    };
    (0..batch.num_rows()).map(row).collect()
}

fn column<'b>(batch: &'b RecordBatch, name: &str) -> Result<&'b dyn Array, String> {
    let found = batch.column_by_name(name).map(AsRef::as_ref);
    found.ok_or_else(|| {
        format!("the table has no column {name}; it needs field_id, plan (the text of the plan file) and files (a map of names to bytes)")
    })
}

fn map(array: &dyn Array) -> Result<&MapArray, String> {
    array.as_map_opt().ok_or_else(|| {
        format!(
            "column files is {}; it has to be a map of names to bytes: pa.map_(pa.string(), pa.binary())",
            array.data_type()
        )
    })
}

/// The files of a row, its plan among them.
fn named(files: &MapArray, row: usize, plan: &str) -> Result<Files, String> {
    let mut all: Vec<(String, Vec<u8>)> = Vec::new();
    if files.is_valid(row) {
        let entries: StructArray = files.value(row);
        // Who makes a map chooses what its parts are called.
        let names = Texts::new(entries.column(0), "files")?;
        for entry in 0..entries.len() {
            let name = names.get(entry).unwrap_or_default();
            let bytes = bytes(entries.column(1), entry)?;
            all.push((name.to_owned(), bytes.to_vec()));
        }
    }
    all.push((PLAN.to_owned(), plan.as_bytes().to_vec()));
    Ok(Files::memory(all))
}

/// A column of texts.
struct Texts<'b>(&'b dyn Array);

impl<'b> Texts<'b> {
    fn new(array: &'b dyn Array, name: &str) -> Result<Self, String> {
        match array.data_type() {
            DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => Ok(Self(array)),
            other => Err(format!("column {name} is {other}; it has to be text")),
        }
    }

    fn get(&self, row: usize) -> Option<&'b str> {
        if self.0.is_null(row) {
            return None;
        }
        Some(match self.0.data_type() {
            DataType::LargeUtf8 => self.0.as_string::<i64>().value(row),
            DataType::Utf8View => self.0.as_string_view().value(row),
            _ => self.0.as_string::<i32>().value(row),
        })
    }
}

fn bytes(array: &dyn Array, row: usize) -> Result<&[u8], String> {
    if array.is_null(row) {
        return Ok(&[]);
    }
    match array.data_type() {
        DataType::Binary => Ok(array.as_binary::<i32>().value(row)),
        DataType::LargeBinary => Ok(array.as_binary::<i64>().value(row)),
        DataType::BinaryView => Ok(array.as_binary_view().value(row)),
        other => Err(format!(
            "the files of column files are {other}; they have to be bytes (pa.binary())"
        )),
    }
}
