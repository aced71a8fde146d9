//! A layer of a GeoPackage, read in memory and with nothing in it trusted: plain tables only, no views, no triggers.
//!
//! # Source
//! OGC 12-128r19, GeoPackage encoding standard 1.4: clauses 1.1.2 (spatial reference systems), 1.1.3 (contents), 2.1 (features).

use std::time::{Duration, Instant};

use geo::Geometry;
use rusqlite::config::DbConfig;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, OptionalExtension, Row, params};

use crate::intake::error::IntakeError;
use crate::intake::formats::shapes::{LayerWish, MOST_SHAPES, MOST_VERTICES, Shape, Shapes};
use crate::intake::formats::wkb;
use crate::provenance::Place;
use geo::CoordsIter;

/// Longest time that one question to a file may take.
const LONGEST: Duration = Duration::from_secs(60);

/// A layer of features.
struct Layer {
    table: String,
    column: String,
    system: i64,
    /// Whether its shapes are points; `None` where the file does not say.
    is_points: Option<bool>,
}

impl Layer {
    fn fits(&self, wanted: LayerWish<'_>) -> bool {
        self.is_points.is_none_or(|is_points| match wanted {
            LayerWish::Named(_) => true,
            LayerWish::Areas => !is_points,
            LayerWish::Points => is_points,
        })
    }
}

/// The shapes of the layer of a name, or of the only layer.
pub(super) fn from_bytes(
    bytes: &[u8],
    layer: LayerWish<'_>,
    place: &Place,
) -> Result<Shapes, IntakeError> {
    let database = open(bytes).map_err(|error| malformed(place, &error))?;
    let layers = layers_of(&database).map_err(|error| malformed(place, &error))?;
    let layer = chosen(&layers, layer, place)?;
    let crs = crs_of(&database, layer.system).map_err(|error| malformed(place, &error))?;
    let list = shapes_of(&database, layer, place)?;
    Ok(Shapes {
        list,
        crs,
        ..Shapes::default()
    })
}

/// The names of the layers of a kind.
pub(super) fn layer_names(
    bytes: &[u8],
    kind: LayerWish<'_>,
    place: &Place,
) -> Result<Vec<String>, IntakeError> {
    let database = open(bytes).map_err(|error| malformed(place, &error))?;
    let layers = layers_of(&database).map_err(|error| malformed(place, &error))?;
    let fitting = layers.into_iter().filter(|layer| layer.fits(kind));
    Ok(fitting.map(|layer| layer.table).collect())
}

fn malformed(place: &Place, error: &dyn std::fmt::Display) -> IntakeError {
    IntakeError::Malformed {
        place: place.clone(),
        format: "a GeoPackage",
        what: error.to_string(),
    }
}

/// Opens the bytes for reading; what a hostile file could do with the database is switched off.
fn open(bytes: &[u8]) -> rusqlite::Result<Connection> {
    let mut bytes = bytes.to_vec();
    // A file that was left in write-ahead mode is read as it stands (SQLite file format, offsets 18 and 19).
    if let Some(versions) = bytes.get_mut(18..20)
        && versions == [2, 2]
    {
        versions.fill(1);
    }
    let mut database = Connection::open_in_memory()?;
    let size = bytes.len();
    database.deserialize_read_exact("main", bytes.as_slice(), size, true)?;
    database.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    database.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    database.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER, false)?;
    database.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_VIEW, false)?;
    let started = Instant::now();
    database.progress_handler(100_000, Some(move || started.elapsed() > LONGEST));
    Ok(database)
}

/// The layers of features whose tables are plain.
fn layers_of(database: &Connection) -> rusqlite::Result<Vec<Layer>> {
    let mut question = database.prepare(
        "SELECT g.table_name, g.column_name, g.srs_id, g.geometry_type_name FROM gpkg_geometry_columns g \
         JOIN sqlite_master m ON m.name = g.table_name \
         WHERE m.type = 'table' AND m.sql NOT LIKE 'CREATE VIRTUAL%' ORDER BY g.table_name LIMIT 1000",
    )?;
    let layers = question.query_map([], |row| {
        Ok(Layer {
            table: row.get(0)?,
            column: row.get(1)?,
            system: row.get(2)?,
            is_points: kind_of(&row.get::<_, String>(3)?),
        })
    })?;
    layers.collect()
}

/// Whether a name of a kind of geometry is that of points.
fn kind_of(name: &str) -> Option<bool> {
    match name.to_ascii_uppercase().as_str() {
        "POINT" | "MULTIPOINT" => Some(true),
        "GEOMETRY" | "GEOMETRYCOLLECTION" => None,
        _ => Some(false),
    }
}

fn chosen<'l>(
    layers: &'l [Layer],
    wanted: LayerWish<'_>,
    place: &Place,
) -> Result<&'l Layer, IntakeError> {
    let names = || {
        let names = layers
            .iter()
            .take(20)
            .map(|layer| format!("\"{}\"", layer.table));
        names.collect::<Vec<_>>().join(", ")
    };
    let choice = |what: String, help: String| IntakeError::Choice {
        place: place.clone(),
        what,
        help,
    };
    let fitting: Vec<&Layer> = layers.iter().filter(|layer| layer.fits(wanted)).collect();
    match (wanted, fitting.as_slice()) {
        (_, []) => Err(IntakeError::Nothing {
            place: place.clone(),
            what: "the GeoPackage holds no layer of shapes that fits".to_owned(),
        }),
        (LayerWish::Named(wanted), _) => layers
            .iter()
            .find(|layer| layer.table == wanted)
            .ok_or_else(|| {
                choice(
                    format!("there is no layer \"{wanted}\""),
                    format!("its layers are {}", names()),
                )
            }),
        (_, [one]) => Ok(one),
        (_, several) => Err(choice(
            format!("the GeoPackage holds {} layers: {}", layers.len(), names()),
            format!("say which one with layer = \"{}\"", several[0].table),
        )),
    }
}

/// The coordinate system of a number: an authority's code, else the definition as text. 0 and -1 say that there is none.
fn crs_of(database: &Connection, system: i64) -> rusqlite::Result<Option<String>> {
    if system <= 0 {
        return Ok(None);
    }
    let found = database
        .query_row(
            "SELECT organization, organization_coordsys_id, definition FROM gpkg_spatial_ref_sys WHERE srs_id = ?1",
            params![system],
            |row| Ok((row.get::<_, String>(0)?, row.get::<_, i64>(1)?, row.get::<_, String>(2)?)),
        )
        .optional()?;
    Ok(found.map(|(who, code, definition)| {
        if who.eq_ignore_ascii_case("epsg") {
            format!("EPSG:{code}")
        } else {
            definition
        }
    }))
}

fn shapes_of(
    database: &Connection,
    layer: &Layer,
    place: &Place,
) -> Result<Vec<Shape>, IntakeError> {
    let table = layer.table.replace('"', "\"\"");
    let mut question = database
        .prepare(&format!("SELECT * FROM \"{table}\""))
        .map_err(|error| malformed(place, &error))?;
    let names = names_of(database, &layer.table).map_err(|error| malformed(place, &error))?;
    let Some(at) = names.iter().position(|name| *name == layer.column) else {
        let what = format!("there is no column \"{}\" of shapes", layer.column);
        return Err(malformed(place, &what));
    };
    let mut rows = question
        .query([])
        .map_err(|error| malformed(place, &error))?;
    let (mut shapes, mut vertices) = (Vec::new(), 0);
    while let Some(row) = rows.next().map_err(|error| malformed(place, &error))? {
        let number = shapes.len() as u32 + 1;
        let geometry = geometry_of(row, at)
            .map_err(|what| malformed(place, &format!("shape {number}: {what}")))?;
        vertices += geometry.as_ref().map_or(0, CoordsIter::coords_count);
        if vertices > MOST_VERTICES || shapes.len() >= MOST_SHAPES {
            return Err(IntakeError::OverLimit {
                place: place.clone(),
                what: "the number of shapes or vertices".to_owned(),
                limit: format!("{MOST_VERTICES} vertices"),
            });
        }
        let attributes =
            attributes_of(row, &names, at).map_err(|error| malformed(place, &error))?;
        shapes.push(Shape {
            number,
            geometry,
            attributes,
        });
    }
    Ok(shapes)
}

/// Names of the columns of a table. The library's own list ends in a panic where a name is no UTF-8 (found by damaged files).
fn names_of(database: &Connection, table: &str) -> rusqlite::Result<Vec<String>> {
    let mut question = database.prepare("SELECT name FROM pragma_table_info(?1) ORDER BY cid")?;
    let mut rows = question.query(params![table])?;
    let mut names = Vec::new();
    while let Some(row) = rows.next()? {
        names.push(match row.get_ref(0)? {
            ValueRef::Text(text) => String::from_utf8_lossy(text).into_owned(),
            _ => String::new(),
        });
    }
    Ok(names)
}

/// The shape of a row: the header of GeoPackage binary, then well-known binary.
fn geometry_of(row: &Row<'_>, at: usize) -> Result<Option<Geometry<f64>>, String> {
    let blob = match row.get_ref(at).map_err(|error| error.to_string())? {
        ValueRef::Null => return Ok(None),
        ValueRef::Blob(blob) => blob,
        _ => return Err("the shape is not binary".to_owned()),
    };
    let [b'G', b'P', _, flags, ..] = blob else {
        return Err("the shape does not start with GP".to_owned());
    };
    if flags & 0b10_0000 != 0 {
        return Err("the shape is of an extended kind".to_owned());
    }
    let envelope = match (flags >> 1) & 0b111 {
        0 => 0,
        1 => 32,
        2 | 3 => 48,
        4 => 64,
        _ => return Err("the shape's envelope is of no known kind".to_owned()),
    };
    if flags & 0b1_0000 != 0 {
        return Ok(None);
    }
    wkb::shape_of(blob.get(8 + envelope..).unwrap_or_default())
}

fn attributes_of(
    row: &Row<'_>,
    names: &[String],
    shape: usize,
) -> rusqlite::Result<Vec<(String, String)>> {
    let mut attributes = Vec::new();
    for (at, name) in names.iter().enumerate().filter(|(at, _)| *at != shape) {
        let text = match row.get_ref(at)? {
            ValueRef::Null => String::new(),
            ValueRef::Integer(number) => number.to_string(),
            ValueRef::Real(number) => number.to_string(),
            ValueRef::Text(text) => String::from_utf8_lossy(text).into_owned(),
            ValueRef::Blob(_) => "(binary)".to_owned(),
        };
        attributes.push((name.clone(), text));
    }
    Ok(attributes)
}
