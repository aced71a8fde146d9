//! A table as the bytes of a Parquet file, without arrow: flat columns, lists of texts, maps of numbers and boxes.

use std::sync::Arc;

use parquet::basic::{Compression, ZstdLevel};
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int32Type};
use parquet::errors::Result;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use parquet::schema::parser::parse_message_type;

use super::column::Column;

/// Rows of a group: so much is unpacked at once by whoever reads.
const GROUP: usize = 20_000;
/// Strength of the packing: stronger takes much longer and saves little.
const ZSTD_LEVEL: i32 = 3;

impl Column {
    /// The column in the words of a Parquet schema.
    fn schema(&self, name: &str) -> String {
        match self {
            Self::Text(_) => format!("optional binary {name} (STRING);"),
            Self::Whole(_) => format!("optional int32 {name};"),
            Self::Number(_) => format!("optional double {name};"),
            Self::Bytes(_) => format!("optional binary {name};"),
            Self::Texts(_) => format!(
                "required group {name} (LIST) {{ repeated group list {{ required binary element (STRING); }} }}"
            ),
            Self::Map(_) => format!(
                "required group {name} (MAP) {{ repeated group key_value {{ required binary key (STRING); required double value; }} }}"
            ),
            Self::Box(_) => format!(
                "required group {name} {{ required double xmin; required double ymin; required double xmax; required double ymax; }}"
            ),
        }
    }

    fn write(
        &self,
        rows: std::ops::Range<usize>,
        group: &mut SerializedRowGroupWriter<'_, Vec<u8>>,
    ) -> Result<()> {
        match self {
            Self::Text(cells) => {
                let bytes = |text: &String| ByteArray::from(text.as_str());
                optional::<ByteArrayType, _>(&cells[rows], bytes, group)
            }
            Self::Whole(cells) => optional::<Int32Type, _>(&cells[rows], |number| *number, group),
            Self::Number(cells) => optional::<DoubleType, _>(&cells[rows], |number| *number, group),
            Self::Bytes(cells) => {
                let bytes = |bytes: &Vec<u8>| ByteArray::from(bytes.clone());
                optional::<ByteArrayType, _>(&cells[rows], bytes, group)
            }
            Self::Texts(cells) => {
                let cells = &cells[rows];
                let texts = cells.iter().flatten();
                let values: Vec<ByteArray> =
                    texts.map(|text| ByteArray::from(text.as_str())).collect();
                repeated::<ByteArrayType>(&values, cells.iter().map(Vec::len), group)
            }
            Self::Map(cells) => {
                let cells = &cells[rows];
                let entries = || cells.iter().flatten();
                let names: Vec<ByteArray> = entries()
                    .map(|(name, _)| ByteArray::from(name.as_str()))
                    .collect();
                let numbers: Vec<f64> = entries().map(|(_, number)| *number).collect();
                repeated::<ByteArrayType>(&names, cells.iter().map(Vec::len), group)?;
                repeated::<DoubleType>(&numbers, cells.iter().map(Vec::len), group)
            }
            Self::Box(cells) => {
                let cells = &cells[rows];
                (0..4).try_for_each(|side| {
                    let numbers: Vec<f64> = cells.iter().map(|sides| sides[side]).collect();
                    leaf::<DoubleType>(&numbers, None, None, group)
                })
            }
        }
    }
}

/// Cells of which some are empty.
fn optional<T: parquet::data_type::DataType, C>(
    cells: &[Option<C>],
    value: impl Fn(&C) -> T::T,
    group: &mut SerializedRowGroupWriter<'_, Vec<u8>>,
) -> Result<()> {
    let values: Vec<T::T> = cells.iter().flatten().map(value).collect();
    let is_there: Vec<i16> = cells.iter().map(|cell| i16::from(cell.is_some())).collect();
    leaf::<T>(&values, Some(&is_there), None, group)
}

/// The values of lists, one list a row.
fn repeated<T: parquet::data_type::DataType>(
    values: &[T::T],
    lengths: impl Iterator<Item = usize>,
    group: &mut SerializedRowGroupWriter<'_, Vec<u8>>,
) -> Result<()> {
    let (mut is_there, mut goes_on) = (Vec::new(), Vec::new());
    for length in lengths {
        for at in 0..length.max(1) {
            is_there.push(i16::from(length > 0));
            goes_on.push(i16::from(at > 0));
        }
    }
    leaf::<T>(values, Some(&is_there), Some(&goes_on), group)
}

fn leaf<T: parquet::data_type::DataType>(
    values: &[T::T],
    is_there: Option<&[i16]>,
    goes_on: Option<&[i16]>,
    group: &mut SerializedRowGroupWriter<'_, Vec<u8>>,
) -> Result<()> {
    if let Some(mut column) = group.next_column()? {
        column.typed::<T>().write_batch(values, is_there, goes_on)?;
        column.close()?;
    }
    Ok(())
}

/// The bytes of a table; columns of the same length, and what is said of the whole.
///
/// # Errors
/// Where the library refuses a column.
pub(super) fn bytes(columns: &[(&str, Column)], metadata: &[(&str, String)]) -> Result<Vec<u8>> {
    let fields: Vec<String> = columns
        .iter()
        .map(|(name, column)| column.schema(name))
        .collect();
    let schema = parse_message_type(&format!("message schema {{ {} }}", fields.join(" ")))?;
    let pairs = metadata.iter();
    let pairs = pairs.map(|(key, value)| KeyValue::new((*key).to_owned(), value.clone()));
    let properties = WriterProperties::builder()
        .set_compression(Compression::ZSTD(ZstdLevel::try_new(ZSTD_LEVEL)?))
        .set_created_by(concat!(env!("CARGO_PKG_NAME"), " ", env!("CARGO_PKG_VERSION")).to_owned())
        .set_key_value_metadata(Some(pairs.collect()))
        .build();
    let mut file = SerializedFileWriter::new(Vec::new(), Arc::new(schema), Arc::new(properties))?;
    let rows = columns.first().map_or(0, |(_, column)| column.rows());
    for start in (0..rows).step_by(GROUP) {
        let mut group = file.next_row_group()?;
        for (_, column) in columns {
            column.write(start..rows.min(start + GROUP), &mut group)?;
        }
        group.close()?;
    }
    file.into_inner()
}

#[cfg(test)]
mod tests {
    use bytes::Bytes;
    use parquet::file::reader::{FileReader, SerializedFileReader};

    use super::{Column, bytes};

    #[test]
    fn what_is_written_is_read_again() {
        let columns = [
            (
                "name",
                Column::Text(vec![Some("a".to_owned()), None, Some(String::new())]),
            ),
            (
                "texts",
                Column::Texts(vec![
                    vec![],
                    vec!["x".to_owned(), "y".to_owned()],
                    vec!["z".to_owned()],
                ]),
            ),
            (
                "rates",
                Column::Map(vec![
                    vec![("lime".to_owned(), 1.5)],
                    vec![],
                    vec![("a".to_owned(), 0.0), ("b".to_owned(), -2.0)],
                ]),
            ),
            ("bbox", Column::Box(vec![[1.0, 2.0, 3.0, 4.0]; 3])),
        ];
        let made = bytes(&columns, &[("geo", "{}".to_owned())]).unwrap();
        let reader = SerializedFileReader::new(Bytes::from(made)).unwrap();
        let rows: Vec<String> = reader
            .get_row_iter(None)
            .unwrap()
            .map(|row| row.unwrap().to_string())
            .collect();
        assert!(
            rows[0].contains("name: \"a\"") && rows[0].contains("texts: []"),
            "{rows:?}"
        );
        assert!(
            rows[1].contains("name: null") && rows[1].contains("texts: [\"x\", \"y\"]"),
            "{rows:?}"
        );
        assert!(rows[1].contains("rates: {}"), "{rows:?}");
        assert!(
            rows[2].contains("name: \"\"") && rows[2].contains("\"b\" -> -2"),
            "{rows:?}"
        );
        assert!(
            rows[2].contains("xmin: 1.0, ymin: 2.0, xmax: 3.0, ymax: 4.0"),
            "{rows:?}"
        );
    }
}
