//! `zones.parquet` (GeoParquet, one row a zone) and `fields.parquet` (one row a field).

use serde_json::{Value, json};

use super::column::Column;
use super::error::FarmError;
use super::field_row::{FieldRow, PieceRow};
#[cfg(feature = "geoparquet")]
use super::parquet_table::bytes;
use super::problem::Problem;
use super::record::FieldRecord;
use crate::deliver::OutputFile;

/// The rows of a farm's zones.
pub(super) const ZONES: &str = "zones.parquet";
/// The rows of a farm's fields.
pub(super) const FIELDS: &str = "fields.parquet";

/// Properties of a zone that have a column of their own; what else is a number is a rate.
const NO_RATES: [&str; 12] = [
    "zone",
    "strip",
    "area_ha",
    "area_ac",
    "limit_1",
    "limit_2",
    "limit_3",
    "confidence",
    "reason",
    "do_first",
    "not_known",
    "cost_usd_ac",
];

/// The zones of all fields, in the order of the fields.
///
/// # Errors
/// Where the table cannot be made.
pub(super) fn zones(records: &[FieldRecord]) -> Result<OutputFile, FarmError> {
    let table = ZoneTable::new(records);
    made(ZONES, &table.columns, &[(GEO, table.geo)])
}

/// Name of the metadata that makes a table of Arrow or Parquet a GeoParquet.
pub const GEO: &str = "geo";

/// The zones of some fields as columns, one row a zone, in the order of the fields.
pub struct ZoneTable {
    /// Names and cells.
    pub columns: Vec<(&'static str, Column)>,
    /// The text of the metadata [`GEO`].
    pub geo: String,
}

impl ZoneTable {
    /// The rows of `zones.parquet`.
    #[must_use]
    pub fn new(records: &[FieldRecord]) -> Self {
        zone_table(records)
    }
}

fn zone_table(records: &[FieldRecord]) -> ZoneTable {
    let pieces: Vec<(&FieldRow, &PieceRow)> = records
        .iter()
        .flat_map(|record| record.pieces.iter().map(|piece| (&record.row, piece)))
        .collect();
    let text = |key: &str| {
        let cell = |(_, piece): &(&FieldRow, &PieceRow)| {
            piece
                .properties
                .get(key)
                .and_then(Value::as_str)
                .map(str::to_owned)
        };
        Column::Text(pieces.iter().map(cell).collect())
    };
    let number = |key: &str| {
        let cell =
            |(_, piece): &(&FieldRow, &PieceRow)| piece.properties.get(key).and_then(Value::as_f64);
        Column::Number(pieces.iter().map(cell).collect())
    };
    let of_field = |text: fn(&FieldRow) -> &str| {
        Column::Text(
            pieces
                .iter()
                .map(|(row, _)| Some(text(row).to_owned()))
                .collect(),
        )
    };
    let whole = |number: &dyn Fn(&FieldRow, &PieceRow) -> Option<i32>| {
        Column::Whole(
            pieces
                .iter()
                .map(|(row, piece)| number(row, piece))
                .collect(),
        )
    };
    let zone = |_: &FieldRow, piece: &PieceRow| {
        let zone = piece.properties.get("zone").and_then(Value::as_i64)?;
        i32::try_from(zone).ok()
    };
    let boxes: Vec<[f64; 4]> = pieces
        .iter()
        .map(|(_, piece)| box_of(&piece.parts))
        .collect();
    let geo = geo_key(&boxes);
    let columns = vec![
        ("field_id", of_field(|row| &row.id)),
        ("field", of_field(|row| &row.field)),
        ("season", whole(&|row, _| Some(i32::from(row.season)))),
        ("crop", of_field(|row| &row.crop)),
        ("zone", whole(&zone)),
        ("strip", text("strip")),
        ("area_ha", number("area_ha")),
        ("area_ac", number("area_ac")),
        ("limit_1", text("limit_1")),
        ("limit_2", text("limit_2")),
        ("limit_3", text("limit_3")),
        ("confidence", number("confidence")),
        ("reason", text("reason")),
        ("do_first", text("do_first")),
        (
            "not_known",
            Column::Texts(pieces.iter().map(|(_, piece)| not_known(piece)).collect()),
        ),
        ("cost_usd_ac", number("cost_usd_ac")),
        (
            "rates",
            Column::Map(pieces.iter().map(|(_, piece)| rates(piece)).collect()),
        ),
        ("bbox", Column::Box(boxes)),
        (
            "geometry",
            Column::Bytes(
                pieces
                    .iter()
                    .map(|(_, piece)| Some(wkb(&piece.parts)))
                    .collect(),
            ),
        ),
    ];
    ZoneTable { columns, geo }
}

#[cfg(feature = "geoparquet")]
fn made(
    file: &'static str,
    columns: &[(&str, Column)],
    metadata: &[(&str, String)],
) -> Result<OutputFile, FarmError> {
    let made = bytes(columns, metadata).map_err(|cause| FarmError::Table {
        file,
        cause: cause.to_string(),
    })?;
    Ok(OutputFile::new(file, made))
}

/// Without the feature there is no table, and nothing is written of that name.
#[cfg(not(feature = "geoparquet"))]
fn made(
    file: &'static str,
    _: &[(&str, Column)],
    _: &[(&str, String)],
) -> Result<OutputFile, FarmError> {
    Ok(OutputFile::new(file, Vec::new()))
}

fn not_known(piece: &PieceRow) -> Vec<String> {
    let listed = piece.properties.get("not_known").and_then(Value::as_array);
    let texts = listed.into_iter().flatten().filter_map(Value::as_str);
    texts.map(str::to_owned).collect()
}

/// The rates of a piece, by the name that they have in the field's own map: product and unit.
fn rates(piece: &PieceRow) -> Vec<(String, f64)> {
    let properties = piece.properties.iter();
    properties
        .filter(|(key, _)| !NO_RATES.contains(&key.as_str()))
        .filter_map(|(key, value)| Some((key.clone(), value.as_f64()?)))
        .collect()
}

/// West, south, east and north of some parts.
fn box_of(parts: &[Vec<Vec<[f64; 2]>>]) -> [f64; 4] {
    let nothing = [
        f64::INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NEG_INFINITY,
    ];
    parts
        .iter()
        .flatten()
        .flatten()
        .fold(nothing, |so_far, [x, y]| {
            [
                so_far[0].min(*x),
                so_far[1].min(*y),
                so_far[2].max(*x),
                so_far[3].max(*y),
            ]
        })
}

/// What GeoParquet says of the column of shapes.
///
/// # Source
/// OGC 24-013r1, GeoParquet 1.1: the `geo` key and the column `bbox` that covers the shapes. Without a `crs` it is OGC:CRS84.
fn geo_key(boxes: &[[f64; 4]]) -> String {
    let mut column = json!({
        "encoding": "WKB",
        "geometry_types": ["MultiPolygon"],
        "orientation": "counterclockwise",
        "covering": { "bbox": {
            "xmin": ["bbox", "xmin"], "ymin": ["bbox", "ymin"], "xmax": ["bbox", "xmax"], "ymax": ["bbox", "ymax"],
        } },
    });
    if let Some(whole) = boxes.iter().copied().reduce(|a, b| {
        [
            a[0].min(b[0]),
            a[1].min(b[1]),
            a[2].max(b[2]),
            a[3].max(b[3]),
        ]
    }) {
        column["bbox"] = json!(whole);
    }
    json!({ "version": "1.1.0", "primary_column": "geometry", "columns": { "geometry": column } })
        .to_string()
}

/// Well-known binary of a multipolygon, little endian.
///
/// # Source
/// OGC 06-103r4, Simple Features, clause 8: byte order 1, type 6 of polygons of type 3.
fn wkb(parts: &[Vec<Vec<[f64; 2]>>]) -> Vec<u8> {
    const LITTLE_ENDIAN: u8 = 1;
    const POLYGON: u32 = 3;
    const MULTI_POLYGON: u32 = 6;
    let mut bytes = Vec::new();
    let head = |kind: u32, count: usize, bytes: &mut Vec<u8>| {
        bytes.push(LITTLE_ENDIAN);
        bytes.extend(kind.to_le_bytes());
        bytes.extend((count as u32).to_le_bytes());
    };
    head(MULTI_POLYGON, parts.len(), &mut bytes);
    for part in parts {
        head(POLYGON, part.len(), &mut bytes);
        for ring in part {
            bytes.extend((ring.len() as u32).to_le_bytes());
            for number in ring.iter().flatten() {
                bytes.extend(number.to_le_bytes());
            }
        }
    }
    bytes
}

/// What came of a field, for its row.
pub(super) enum FieldOutcome<'a> {
    /// It has a result.
    Done(&'a FieldRow),
    /// It has none, and why.
    Problems(&'a [Problem]),
}

/// All fields, in their order.
///
/// # Errors
/// Where the table cannot be made.
pub(super) fn fields(outcomes: &[FieldOutcome<'_>]) -> Result<OutputFile, FarmError> {
    let rows = || outcomes.iter();
    let id = |outcome: &FieldOutcome<'_>| match outcome {
        FieldOutcome::Done(row) => (row.id.clone(), row.plan.clone()),
        FieldOutcome::Problems(problems) => {
            problems.first().map_or_else(Default::default, |problem| {
                (problem.id.clone(), problem.plan.clone())
            })
        }
    };
    let done = |outcome: &FieldOutcome<'_>| match outcome {
        FieldOutcome::Done(row) => Some((*row).clone()),
        FieldOutcome::Problems(_) => None,
    };
    let known: Vec<Option<FieldRow>> = rows().map(done).collect();
    let known = || known.iter().map(Option::as_ref);
    let text = |take: fn(&FieldRow) -> &str| {
        Column::Text(
            known()
                .map(|row| row.map(|row| take(row).to_owned()))
                .collect(),
        )
    };
    let number =
        |take: fn(&FieldRow) -> f64| Column::Number(known().map(|row| row.map(take)).collect());
    let count = |take: fn(&FieldRow) -> usize| {
        Column::Whole(known().map(|row| row.map(|row| take(row) as i32)).collect())
    };
    let texts = |take: fn(&FieldRow) -> &[String]| {
        Column::Texts(
            known()
                .map(|row| row.map_or_else(Vec::new, |row| take(row).to_vec()))
                .collect(),
        )
    };
    let columns = [
        (
            "field_id",
            Column::Text(rows().map(|row| Some(id(row).0)).collect()),
        ),
        (
            "plan",
            Column::Text(rows().map(|row| Some(id(row).1)).collect()),
        ),
        (
            "code",
            Column::Whole(rows().map(|row| Some(code(row))).collect()),
        ),
        ("error", Column::Text(rows().map(error).collect())),
        ("field", text(|row| &row.field)),
        ("season", count(|row| usize::from(row.season))),
        ("crop", text(|row| &row.crop)),
        ("area_ha", number(|row| row.area_ha)),
        ("area_ac", number(|row| row.area_ac)),
        ("zones", count(|row| row.zones)),
        ("cost_usd", number(|row| row.cost_usd)),
        ("work_usd", number(|row| row.work_usd)),
        (
            "totals",
            Column::Map(
                known()
                    .map(|row| row.map_or_else(Vec::new, |row| row.totals.clone()))
                    .collect(),
            ),
        ),
        ("test_first", texts(|row| &row.test_first)),
        ("looks", texts(|row| &row.looks)),
        ("guesses", count(|row| row.guesses)),
        ("notes", count(|row| row.notes)),
    ];
    made(FIELDS, &columns, &[])
}

/// The exit code that `plan` would have for the field.
fn code(outcome: &FieldOutcome<'_>) -> i32 {
    match outcome {
        FieldOutcome::Done(row) => i32::from(!row.looks.is_empty()),
        FieldOutcome::Problems(problems) => problems
            .iter()
            .map(|problem| i32::from(problem.code))
            .max()
            .unwrap_or(3),
    }
}

fn error(outcome: &FieldOutcome<'_>) -> Option<String> {
    let FieldOutcome::Problems(problems) = outcome else {
        return None;
    };
    let texts: Vec<&str> = problems
        .iter()
        .map(|problem| problem.what.as_str())
        .collect();
    Some(texts.join("; "))
}
