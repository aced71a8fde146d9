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

/// Zones and strips, each with its field's line.
struct Pieces<'a>(Vec<(&'a FieldRow, &'a PieceRow)>);

impl<'a> Pieces<'a> {
    fn new(records: &'a [FieldRecord]) -> Self {
        let of_field =
            |record: &'a FieldRecord| record.pieces.iter().map(|piece| (&record.row, piece));
        Self(records.iter().flat_map(of_field).collect())
    }

    fn each<T>(&self, take: impl Fn(&FieldRow, &PieceRow) -> T) -> Vec<T> {
        self.0.iter().map(|(row, piece)| take(row, piece)).collect()
    }

    fn of_field(&self, take: fn(&FieldRow) -> &str) -> Column {
        Column::Text(self.each(|row, _| Some(take(row).to_owned())))
    }

    fn text(&self, key: &str) -> Column {
        let text = |piece: &PieceRow| piece.properties.get(key)?.as_str().map(str::to_owned);
        Column::Text(self.each(|_, piece| text(piece)))
    }

    fn number(&self, key: &str) -> Column {
        Column::Number(self.each(|_, piece| piece.properties.get(key)?.as_f64()))
    }

    fn zone(&self) -> Column {
        let zone = |piece: &PieceRow| {
            let zone = piece.properties.get("zone").and_then(Value::as_i64)?;
            i32::try_from(zone).ok()
        };
        Column::Whole(self.each(|_, piece| zone(piece)))
    }
}

fn zone_table(records: &[FieldRecord]) -> ZoneTable {
    let pieces = Pieces::new(records);
    let boxes = pieces.each(|_, piece| box_of(&piece.parts));
    let geo = geo_key(&boxes);
    let season = pieces.each(|row, _| Some(i32::from(row.season)));
    let not_known = pieces.each(|_, piece| not_known(piece));
    let rates = pieces.each(|_, piece| rates(piece));
    let geometry = pieces.each(|_, piece| Some(wkb(&piece.parts)));
    let columns = vec![
        ("field_id", pieces.of_field(|row| &row.id)),
        ("field", pieces.of_field(|row| &row.field)),
        ("season", Column::Whole(season)),
        ("crop", pieces.of_field(|row| &row.crop)),
        ("zone", pieces.zone()),
        ("strip", pieces.text("strip")),
        ("area_ha", pieces.number("area_ha")),
        ("area_ac", pieces.number("area_ac")),
        ("limit_1", pieces.text("limit_1")),
        ("limit_2", pieces.text("limit_2")),
        ("limit_3", pieces.text("limit_3")),
        ("confidence", pieces.number("confidence")),
        ("reason", pieces.text("reason")),
        ("do_first", pieces.text("do_first")),
        ("not_known", Column::Texts(not_known)),
        ("cost_usd_ac", pieces.number("cost_usd_ac")),
        ("rates", Column::Map(rates)),
        ("bbox", Column::Box(boxes)),
        ("geometry", Column::Bytes(geometry)),
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

impl<'a> FieldOutcome<'a> {
    fn line(&self) -> Option<&'a FieldRow> {
        match self {
            FieldOutcome::Done(row) => Some(row),
            FieldOutcome::Problems(_) => None,
        }
    }
}

/// The lines of all fields, those without a result empty.
struct Lines<'a>(Vec<Option<&'a FieldRow>>);

impl Lines<'_> {
    fn each<T>(&self, take: impl Fn(&FieldRow) -> T) -> Vec<Option<T>> {
        self.0.iter().map(|row| row.map(&take)).collect()
    }

    fn text(&self, take: fn(&FieldRow) -> &str) -> Column {
        Column::Text(self.each(|row| take(row).to_owned()))
    }

    fn number(&self, take: fn(&FieldRow) -> f64) -> Column {
        Column::Number(self.each(take))
    }

    fn count(&self, take: fn(&FieldRow) -> usize) -> Column {
        Column::Whole(self.each(|row| take(row) as i32))
    }

    fn texts(&self, take: fn(&FieldRow) -> &[String]) -> Column {
        let texts = self.each(|row| take(row).to_vec());
        Column::Texts(texts.into_iter().map(Option::unwrap_or_default).collect())
    }

    fn totals(&self) -> Column {
        let totals = self.each(|row| row.totals.clone());
        Column::Map(totals.into_iter().map(Option::unwrap_or_default).collect())
    }
}

/// The name of a field in the farm, and its plan.
fn named<'o>(outcome: &'o FieldOutcome<'_>) -> Option<(&'o str, &'o str)> {
    match outcome {
        FieldOutcome::Done(row) => Some((&row.id, &row.plan)),
        FieldOutcome::Problems(problems) => {
            let first = problems.first()?;
            Some((&first.id, &first.plan))
        }
    }
}

/// All fields, in their order.
///
/// # Errors
/// Where the table cannot be made.
pub(super) fn fields(outcomes: &[FieldOutcome<'_>]) -> Result<OutputFile, FarmError> {
    let rows = || outcomes.iter();
    let names = rows().map(|outcome| named(outcome).unwrap_or_default());
    let (ids, plans): (Vec<_>, Vec<_>) = names
        .map(|(id, plan)| (Some(id.to_owned()), Some(plan.to_owned())))
        .unzip();
    let lines = Lines(rows().map(FieldOutcome::line).collect());
    let codes = rows().map(|row| Some(code(row))).collect();
    let columns = [
        ("field_id", Column::Text(ids)),
        ("plan", Column::Text(plans)),
        ("code", Column::Whole(codes)),
        ("error", Column::Text(rows().map(error).collect())),
        ("field", lines.text(|row| &row.field)),
        ("season", lines.count(|row| usize::from(row.season))),
        ("crop", lines.text(|row| &row.crop)),
        ("area_ha", lines.number(|row| row.area_ha)),
        ("area_ac", lines.number(|row| row.area_ac)),
        ("zones", lines.count(|row| row.zones)),
        ("cost_usd", lines.number(|row| row.cost_usd)),
        ("work_usd", lines.number(|row| row.work_usd)),
        ("totals", lines.totals()),
        ("test_first", lines.texts(|row| &row.test_first)),
        ("looks", lines.texts(|row| &row.looks)),
        ("guesses", lines.count(|row| row.guesses)),
        ("notes", lines.count(|row| row.notes)),
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
