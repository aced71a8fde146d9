//! Rows of a table of fields that is a Parquet file. The file stays in memory as it is, compressed; a row is unpacked when its field is
//! worked on.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Arc;

use bytes::Bytes;
use parquet::errors::ParquetError;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::{Field, Row};
use parquet::schema::types::Type;

use crate::error::Failure;
use crate::files::Files;
use crate::intake::IntakeError;
use crate::provenance::Place;

/// Largest table of fields, in bytes.
const LARGEST: u64 = 8 << 30;

/// The rows of a file.
#[derive(Debug)]
pub(super) struct ParquetRows {
    file: Arc<str>,
    bytes: Bytes,
    /// Names of its columns.
    columns: Vec<String>,
    /// How many rows stand before each group of rows.
    starts: Vec<u64>,
}

/// The text of a plan, and names and bytes of the files that come with it.
type PlanAndFiles = (String, Vec<(String, Vec<u8>)>);

impl ParquetRows {
    pub(super) fn open(files: &Files, path: &Path, file: Arc<str>) -> Result<Self, Failure> {
        let bytes = files
            .read(path, LARGEST)
            .map_err(|cause| IntakeError::Unreadable {
                place: Place::file(Arc::clone(&file)),
                cause,
            })?;
        let mut rows = Self {
            file,
            bytes: bytes.into(),
            columns: Vec::new(),
            starts: Vec::new(),
        };
        let (columns, starts) = rows.read(|reader| {
            let metadata = reader.metadata();
            let fields = metadata.file_metadata().schema().get_fields();
            let columns = fields.iter().map(|field| field.name().to_owned()).collect();
            let mut before = 0;
            let starts = metadata.row_groups().iter().map(|group| {
                let start = before;
                before += group.num_rows().max(0) as u64;
                start
            });
            Ok((columns, starts.collect()))
        })?;
        rows.columns = columns;
        rows.starts = starts;
        Ok(rows)
    }

    pub(super) fn columns(&self) -> Vec<String> {
        self.columns.clone()
    }

    /// Row, name and plan file of each row.
    pub(super) fn heads(&self) -> Result<Vec<(u32, String, String)>, Failure> {
        self.read(|reader| {
            let wanted = projection(reader, &["field_id", "plan_file"])?;
            let mut heads = Vec::new();
            for (row, found) in (1..).zip(reader.get_row_iter(Some(wanted))?) {
                let found = found?;
                heads.push((
                    row,
                    text_in(&found, "field_id"),
                    text_in(&found, "plan_file"),
                ));
            }
            Ok(heads)
        })
    }

    /// One cell as text.
    pub(super) fn cell(&self, row: u32, name: &str) -> Result<Option<String>, Failure> {
        if !self.columns.iter().any(|column| column == name) {
            return Ok(None);
        }
        self.one_row(row, &[name], |found| Some(text_in(found, name)))
    }

    /// The plan's text and the files that come with it.
    pub(super) fn plan(&self, row: u32) -> Result<PlanAndFiles, Failure> {
        self.one_row(row, &["plan", "files"], |found| {
            Some((text_in(found, "plan"), files_in(found)))
        })
        .map(Option::unwrap_or_default)
    }

    fn one_row<T>(
        &self,
        row: u32,
        columns: &[&str],
        take: impl Fn(&Row) -> Option<T>,
    ) -> Result<Option<T>, Failure> {
        let at = u64::from(row.saturating_sub(1));
        let group = self
            .starts
            .partition_point(|start| *start <= at)
            .saturating_sub(1);
        let within = at - self.starts.get(group).copied().unwrap_or_default();
        self.read(|reader| {
            let wanted = projection(reader, columns)?;
            let rows = reader.get_row_group(group)?;
            let mut rows = rows.get_row_iter(Some(wanted))?.skip(within as usize);
            let found = rows.next().transpose()?;
            Ok(found.and_then(|found| take(&found)))
        })
    }

    /// Reads; a check inside the library that ends in a panic becomes an error: a damaged file is the user's to mend.
    fn read<T>(
        &self,
        work: impl FnOnce(&SerializedFileReader<Bytes>) -> Result<T, ParquetError>,
    ) -> Result<T, Failure> {
        let malformed = |what: String| IntakeError::Malformed {
            place: Place::file(Arc::clone(&self.file)),
            format: "a Parquet file",
            what,
        };
        let bytes = self.bytes.clone();
        let read = catch_unwind(AssertUnwindSafe(|| {
            work(&SerializedFileReader::new(bytes)?)
        }));
        match read {
            Ok(Ok(value)) => Ok(value),
            Ok(Err(error)) => Err(malformed(error.to_string()).into()),
            Err(_) => Err(malformed("its pages contradict its metadata".to_owned()).into()),
        }
    }
}

/// The schema of some columns.
fn projection(
    reader: &SerializedFileReader<Bytes>,
    columns: &[&str],
) -> Result<Type, ParquetError> {
    let schema = reader.metadata().file_metadata().schema();
    let fields = schema.get_fields().iter();
    let wanted = fields
        .filter(|field| columns.contains(&field.name()))
        .cloned();
    Type::group_type_builder(schema.name())
        .with_fields(wanted.collect())
        .build()
}

/// A cell as text; empty where it holds nothing.
fn text_in(row: &Row, name: &str) -> String {
    let found = row.get_column_iter().find(|(column, _)| *column == name);
    match found.map(|(_, field)| field) {
        None | Some(Field::Null) => String::new(),
        Some(Field::Str(text)) => text.trim().to_owned(),
        Some(Field::Bytes(bytes)) => String::from_utf8_lossy(bytes.data()).trim().to_owned(),
        Some(other) => other.to_string(),
    }
}

/// The files of a row: a map of names to bytes.
fn files_in(row: &Row) -> Vec<(String, Vec<u8>)> {
    let found = row.get_column_iter().find(|(column, _)| *column == "files");
    let Some((_, Field::MapInternal(map))) = found else {
        return Vec::new();
    };
    let bytes_of = |field: &Field| match field {
        Field::Str(text) => Some(text.clone().into_bytes()),
        Field::Bytes(bytes) => Some(bytes.data().to_vec()),
        _ => None,
    };
    let entries = map.entries().iter();
    entries
        .filter_map(|(name, bytes)| {
            let name = String::from_utf8(bytes_of(name)?).ok()?;
            Some((name, bytes_of(bytes)?))
        })
        .collect()
}
