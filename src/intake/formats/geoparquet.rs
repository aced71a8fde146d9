//! A GeoParquet file: rows with one shape each in well-known binary.
//!
//! # Source
//! OGC 24-013r1, GeoParquet 1.1: the `geo` key of the file's metadata.

use bytes::Bytes;
use geo::CoordsIter;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::{Field, Row};
use serde_json::Value;

use crate::intake::error::IntakeError;
use crate::intake::formats::shapes::{MOST_SHAPES, MOST_VERTICES, Shape, Shapes};
use crate::intake::formats::wkb;
use crate::intake::source::LARGEST_WHOLE;
use crate::provenance::Place;

/// The column of shapes, and what is said of its coordinate system.
struct ShapeColumn {
    name: String,
    crs: Option<String>,
    is_degrees: bool,
}

/// The shapes of a file.
pub(super) fn from_bytes(bytes: &[u8], place: &Place) -> Result<Shapes, IntakeError> {
    // A check inside the library that ends in a panic becomes an error here: a damaged file is the user's to mend.
    std::panic::catch_unwind(|| read(bytes, place))
        .unwrap_or_else(|_| Err(malformed(place, "its pages contradict its metadata")))
}

fn malformed(place: &Place, what: impl std::fmt::Display) -> IntakeError {
    IntakeError::Malformed {
        place: place.clone(),
        format: "a GeoParquet file",
        what: what.to_string(),
    }
}

fn read(bytes: &[u8], place: &Place) -> Result<Shapes, IntakeError> {
    let reader = SerializedFileReader::new(Bytes::copy_from_slice(bytes))
        .map_err(|error| malformed(place, error))?;
    check_size(&reader, place)?;
    let column = shape_column(&reader, place)?;
    let rows = reader
        .get_row_iter(None)
        .map_err(|error| malformed(place, error))?;
    let (mut list, mut vertices) = (Vec::new(), 0);
    for row in rows {
        let row = row.map_err(|error| malformed(place, error))?;
        let shape = shape_of(row, list.len() as u32 + 1, &column.name)
            .map_err(|what| malformed(place, what))?;
        vertices += shape.geometry.as_ref().map_or(0, CoordsIter::coords_count);
        if vertices > MOST_VERTICES {
            return Err(over_limit(place, format!("{MOST_VERTICES} vertices")));
        }
        list.push(shape);
    }
    Ok(Shapes {
        list,
        crs: column.crs,
        is_degrees_by_format: column.is_degrees,
        remarks: Vec::new(),
    })
}

fn over_limit(place: &Place, limit: String) -> IntakeError {
    IntakeError::OverLimit {
        place: place.clone(),
        what: "what the file holds unpacked".to_owned(),
        limit,
    }
}

/// Refuses what would not fit into memory, by what the metadata say of it.
fn check_size(reader: &SerializedFileReader<Bytes>, place: &Place) -> Result<(), IntakeError> {
    let groups = reader.metadata().row_groups();
    let columns = || {
        groups
            .iter()
            .flat_map(parquet::file::metadata::RowGroupMetaData::columns)
    };
    let sizes = columns().map(|column| column.uncompressed_size().max(0) as u64);
    if sizes.fold(0, u64::saturating_add) > LARGEST_WHOLE {
        return Err(over_limit(place, format!("{LARGEST_WHOLE} bytes")));
    }
    let rows = groups.iter().map(|group| group.num_rows().max(0) as u64);
    if rows.fold(0, u64::saturating_add) > MOST_SHAPES as u64 {
        return Err(over_limit(place, format!("{MOST_SHAPES} shapes")));
    }
    Ok(())
}

/// What the key `geo` says of the main column of shapes.
fn shape_column(
    reader: &SerializedFileReader<Bytes>,
    place: &Place,
) -> Result<ShapeColumn, IntakeError> {
    let pairs = reader.metadata().file_metadata().key_value_metadata();
    let text = pairs
        .into_iter()
        .flatten()
        .find(|pair| pair.key == "geo")
        .and_then(|pair| pair.value.as_deref());
    let Some(text) = text else {
        return Err(malformed(
            place,
            "it lacks the metadata \"geo\": it is a Parquet file without shapes; export it as GeoParquet, or as CSV",
        ));
    };
    let geo: Value = serde_json::from_str(text).map_err(|error| malformed(place, error))?;
    let name = geo["primary_column"]
        .as_str()
        .unwrap_or("geometry")
        .to_owned();
    let column = &geo["columns"][&name];
    if let Some(encoding) = column["encoding"].as_str()
        && !encoding.eq_ignore_ascii_case("WKB")
    {
        let what = format!("its shapes are encoded as \"{encoding}\"; export them as WKB");
        return Err(malformed(place, what));
    }
    let (crs, is_degrees) = crs_of(column.get("crs"));
    Ok(ShapeColumn {
        name,
        crs,
        is_degrees,
    })
}

/// No `crs` means degrees, `null` means that nobody knows, an object is PROJJSON.
fn crs_of(crs: Option<&Value>) -> (Option<String>, bool) {
    let Some(crs) = crs else {
        return (None, true);
    };
    let (authority, code) = (crs["id"]["authority"].as_str(), &crs["id"]["code"]);
    let code = code
        .as_str()
        .map_or_else(|| code.to_string(), str::to_owned);
    match (authority, code.as_str()) {
        (Some("OGC"), "CRS84") => (None, true),
        (Some(authority), code) => (Some(format!("{authority}:{code}")), false),
        (None, _) if crs.is_object() => (Some(crs.to_string()), false),
        _ => (None, false),
    }
}

fn shape_of(row: Row, number: u32, shapes: &str) -> Result<Shape, String> {
    let (mut geometry, mut attributes) = (None, Vec::new());
    for (name, field) in row.into_columns() {
        match field {
            Field::Bytes(bytes) if name == shapes => {
                geometry = wkb::shape_of(bytes.data())
                    .map_err(|what| format!("shape {number}: {what}"))?;
            }
            _ if name == shapes => {}
            Field::Group(_) if name == "bbox" => {}
            Field::Null => attributes.push((name, String::new())),
            Field::Str(text) => attributes.push((name, text)),
            Field::Float(number) => attributes.push((name, number.to_string())),
            Field::Double(number) => attributes.push((name, number.to_string())),
            Field::Bytes(_) => attributes.push((name, "(binary)".to_owned())),
            other => attributes.push((name, other.to_string())),
        }
    }
    Ok(Shape {
        number,
        geometry,
        attributes,
    })
}
