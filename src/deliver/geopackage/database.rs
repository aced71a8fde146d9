//! The tables as a SQLite database, made in memory: nothing is written to disk here.
//!
//! The same tables give the same bytes: one transaction, no clock, and free space is cleared.
//!
//! # Source
//! OGC 12-128r18, annex C (table definitions), clauses 1.1.1 to 2.1.5, annex F.9 (schema extension).

use rusqlite::types::{ToSql, ToSqlOutput};
use rusqlite::{Connection, Result, params, params_from_iter};

use super::blob::{SRS, blob};
use super::table::{Cell, Table};
use super::{qml, sld};
use crate::deliver::degrees::Spot;

const CORE: &str = include_str!("core.sql");
const GEOMETRY: &str = "geom";
const WGS84: &str = "GEOGCS[\"WGS 84\",DATUM[\"WGS_1984\",SPHEROID[\"WGS 84\",6378137,298.257223563,AUTHORITY[\"EPSG\",\"7030\"]],\
    AUTHORITY[\"EPSG\",\"6326\"]],PRIMEM[\"Greenwich\",0,AUTHORITY[\"EPSG\",\"8901\"]],UNIT[\"degree\",0.0174532925199433,\
    AUTHORITY[\"EPSG\",\"9122\"]],AXIS[\"Latitude\",NORTH],AXIS[\"Longitude\",EAST],AUTHORITY[\"EPSG\",\"4326\"]]";

/// The file's bytes. The first day of the season stands as the time of the last change, so that the same input gives the same bytes.
///
/// # Errors
/// Where SQLite refuses a statement.
pub fn bytes(tables: &[Table<'_>], season: u16) -> Result<Vec<u8>> {
    let mut database = Connection::open_in_memory()?;
    database.execute_batch("PRAGMA secure_delete = ON;")?;
    let transaction = database.transaction()?;
    transaction.execute_batch(CORE)?;
    push_reference_systems(&transaction)?;
    let day = format!("{season:04}-01-01T00:00:00.000Z");
    for table in tables {
        push_table(&transaction, table, &day)?;
    }
    push_styles(&transaction, tables, &day)?;
    transaction.commit()?;
    Ok(database.serialize("main")?.to_vec())
}

fn push_reference_systems(database: &Connection) -> Result<()> {
    let mut row =
        database.prepare("INSERT INTO gpkg_spatial_ref_sys VALUES (?1, ?2, ?3, ?4, ?5, ?6)")?;
    row.execute(params![
        "Undefined Cartesian",
        -1,
        "NONE",
        -1,
        "undefined",
        "undefined Cartesian coordinate reference system"
    ])?;
    row.execute(params![
        "Undefined geographic",
        0,
        "NONE",
        0,
        "undefined",
        "undefined geographic coordinate reference system"
    ])?;
    let meaning = "longitude and latitude in decimal degrees on the WGS 84 spheroid";
    row.execute(params!["WGS 84 geodetic", SRS, "EPSG", SRS, WGS84, meaning])?;
    Ok(())
}

fn push_table(database: &Connection, table: &Table<'_>, day: &str) -> Result<()> {
    let columns: Vec<String> = table
        .columns
        .iter()
        .map(|column| format!(", {} {}", quoted(&column.name), column.kind))
        .collect();
    let name = quoted(table.name);
    database.execute_batch(&format!(
        "CREATE TABLE {name} (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, {GEOMETRY} {}{})",
        table.kind.name(),
        columns.concat()
    ))?;
    let ends = bounds(table);
    database.execute(
        "INSERT INTO gpkg_contents VALUES (?1, 'features', ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        params![
            table.name,
            table.description,
            day,
            ends[0],
            ends[1],
            ends[2],
            ends[3],
            SRS
        ],
    )?;
    database.execute(
        "INSERT INTO gpkg_geometry_columns VALUES (?1, ?2, ?3, ?4, 0, 0)",
        params![table.name, GEOMETRY, table.kind.name(), SRS],
    )?;
    for column in table
        .columns
        .iter()
        .filter(|column| !column.title.is_empty())
    {
        database.execute(
            "INSERT INTO gpkg_data_columns (table_name, column_name, title) VALUES (?1, ?2, ?3)",
            params![table.name, column.name, column.title],
        )?;
    }
    let marks = vec!["?"; 2 + table.columns.len()].join(", ");
    let mut insert = database.prepare(&format!("INSERT INTO {name} VALUES ({marks})"))?;
    for (at, feature) in table.features.iter().enumerate() {
        let key = [Cell::Whole(at as i64 + 1)];
        let shape = blob(&feature.shape);
        let cells = key
            .iter()
            .map(|key| key as &dyn ToSql)
            .chain([&shape as &dyn ToSql]);
        insert.execute(params_from_iter(
            cells.chain(feature.cells.iter().map(|cell| cell as &dyn ToSql)),
        ))?;
    }
    Ok(())
}

/// West, south, east and north end of a table, in degrees.
fn bounds(table: &Table<'_>) -> [Option<f64>; 4] {
    let ends = table
        .features
        .iter()
        .filter_map(|feature| feature.shape.bounds())
        .map(|(low, high)| [low.lon, low.lat, high.lon, high.lat])
        .reduce(|a, b| {
            [
                a[0].min(b[0]),
                a[1].min(b[1]),
                a[2].max(b[2]),
                a[3].max(b[3]),
            ]
        });
    let degrees = |steps: i64| Spot { lon: steps, lat: 0 }.longitude();
    ends.map_or([None; 4], |ends| ends.map(|steps| Some(degrees(steps))))
}

/// The styles, each the default of its table, in the table that GIS programs look for.
fn push_styles(database: &Connection, tables: &[Table<'_>], day: &str) -> Result<()> {
    let name = "layer_styles";
    database.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change) VALUES (?1, 'attributes', ?1, ?2, ?3)",
        params![name, "How the layers of this file are shown", day],
    )?;
    let mut insert = database.prepare(
        "INSERT INTO layer_styles VALUES (?1, '', '', ?2, ?3, ?4, ?5, ?6, 1, ?7, '', NULL, ?8)",
    )?;
    for (at, table) in tables.iter().enumerate() {
        let style = &table.style;
        insert.execute(params![
            at + 1,
            table.name,
            GEOMETRY,
            style.name,
            qml::qml(style),
            sld::sld(style),
            table.description,
            day
        ])?;
    }
    Ok(())
}

/// A name as SQL takes it, whatever is in it.
fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

impl ToSql for Cell {
    fn to_sql(&self) -> Result<ToSqlOutput<'_>> {
        Ok(match self {
            Self::Empty => ToSqlOutput::from(rusqlite::types::Null),
            Self::Whole(number) => ToSqlOutput::from(*number),
            Self::Number(number) => ToSqlOutput::from(*number),
            Self::Text(text) => ToSqlOutput::from(text.as_ref()),
        })
    }
}
