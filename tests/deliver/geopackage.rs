//! `maps.gpkg` by `rusqlite` and a reader of its shapes that was written for this test from the standard (OGC 12-128r18, clause
//! 2.1.3; OGC 06-103r4, clause 8). GDAL and another SQLite read it in `outside_readers.rs`.

use geo::{Area, LineString, MultiPolygon, Polygon};
use lowstave::deliver::Delivery;
use quick_xml::events::Event;
use rusqlite::{Connection, Row, types::Value};

use super::{Invented, delivered, geojson, text_of};

/// The file opened from its bytes.
fn open(delivery: &Delivery) -> Connection {
    let bytes = delivery.get("maps.gpkg").expect("maps.gpkg");
    let mut database = Connection::open_in_memory().unwrap();
    database
        .deserialize_read_exact("main", bytes, bytes.len(), true)
        .unwrap();
    database
}

fn rows<T>(
    database: &Connection,
    query: &str,
    row: impl Fn(&Row<'_>) -> rusqlite::Result<T>,
) -> Vec<T> {
    let mut statement = database
        .prepare(query)
        .unwrap_or_else(|error| panic!("{error}: {query}"));
    statement
        .query_map([], |found| row(found))
        .unwrap()
        .map(|found| found.unwrap())
        .collect()
}

fn texts(database: &Connection, query: &str) -> Vec<String> {
    rows(database, query, |row| row.get(0))
}

fn number(database: &Connection, query: &str) -> i64 {
    database.query_row(query, [], |row| row.get(0)).unwrap()
}

/// Reads a shape byte by byte.
struct Bytes<'a>(&'a [u8]);

impl Bytes<'_> {
    fn take<const N: usize>(&mut self) -> [u8; N] {
        let (head, rest) = self.0.split_at(N);
        self.0 = rest;
        head.try_into().unwrap()
    }
    fn count(&mut self) -> usize {
        u32::from_le_bytes(self.take()) as usize
    }
    fn number(&mut self) -> f64 {
        f64::from_le_bytes(self.take())
    }
    /// The header up to the envelope: the flags, then as many numbers as they say.
    fn head(&mut self) -> Vec<f64> {
        assert_eq!(self.take::<3>(), *b"GP\0");
        let [flags] = self.take();
        assert_eq!(
            flags & 0b1111_0001,
            1,
            "little endian, not empty, a standard binary"
        );
        assert_eq!(i32::from_le_bytes(self.take()), 4326);
        (0..if flags >> 1 == 1 { 4 } else { 0 })
            .map(|_| self.number())
            .collect()
    }
    fn kind(&mut self, expected: u32) {
        assert_eq!(self.take(), [1]);
        assert_eq!(u32::from_le_bytes(self.take()), expected);
    }
    fn multi_polygon(&mut self) -> MultiPolygon<f64> {
        self.kind(6);
        MultiPolygon::new((0..self.count()).map(|_| self.polygon()).collect())
    }
    fn polygon(&mut self) -> Polygon<f64> {
        self.kind(3);
        let mut rings = (0..self.count())
            .map(|_| self.ring())
            .collect::<Vec<_>>()
            .into_iter();
        Polygon::new(rings.next().expect("an outer ring"), rings.collect())
    }
    fn ring(&mut self) -> LineString<f64> {
        let count = self.count();
        let ring: Vec<(f64, f64)> = (0..count).map(|_| (self.number(), self.number())).collect();
        assert_eq!(ring.first(), ring.last(), "a ring is closed");
        ring.into()
    }
}

#[test]
fn it_is_a_geopackage_1_3_1_and_whole() {
    let delivery = delivered(&Invented::small());
    let bytes = delivery.get("maps.gpkg").unwrap();
    // SQLite's file format: application id at 68, user version at 60, both big endian; "GPKG" and 10301 by OGC 12-128r18, requirement 2.
    assert_eq!(
        (&bytes[..16], &bytes[68..72], &bytes[60..64]),
        (
            &b"SQLite format 3\0"[..],
            &b"GPKG"[..],
            &10_301_u32.to_be_bytes()[..]
        )
    );
    // Change counter (24), version-valid-for (92) and library version (96) are 0: the bytes hang on nothing but the input.
    assert!([24, 92, 96].iter().all(|&at| bytes[at..at + 4] == [0; 4]));
    let number_at = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
    assert_eq!(
        number_at(28) * 4096,
        bytes.len(),
        "the header says how many pages there are"
    );
    let database = open(&delivery);
    assert_eq!(texts(&database, "PRAGMA integrity_check"), ["ok"]);
    assert_eq!(
        rows(&database, "PRAGMA foreign_key_check", |_| Ok(())).len(),
        0
    );
    let systems = rows(
        &database,
        "SELECT srs_id, organization FROM gpkg_spatial_ref_sys ORDER BY srs_id",
        |r| Ok((r.get(0)?, r.get(1)?)),
    );
    assert_eq!(
        systems,
        [
            (-1, "NONE".to_owned()),
            (0, "NONE".to_owned()),
            (4326, "EPSG".to_owned())
        ]
    );
    assert_eq!(
        texts(
            &database,
            "SELECT table_name FROM gpkg_contents ORDER BY rowid"
        ),
        [
            "zones",
            "cores",
            "cone_pushes",
            "keep_outs",
            "boundary",
            "layer_styles"
        ]
    );
    assert_eq!(
        texts(&database, "SELECT DISTINCT last_change FROM gpkg_contents"),
        ["2027-01-01T00:00:00.000Z"]
    );
    assert_eq!(
        bytes,
        delivered(&Invented::small()).get("maps.gpkg").unwrap(),
        "the same input, the same bytes"
    );
}

#[test]
fn zones_have_the_outlines_and_properties_of_the_geojson() {
    for invented in [Invented::small(), Invented::metric()] {
        let delivery = delivered(&invented);
        let zones = geojson::zones(&text_of(&delivery, "prescription.geojson"));
        let database = open(&delivery);
        let mut found = 0;
        let mut query = database
            .prepare("SELECT * FROM zones ORDER BY fid")
            .unwrap();
        let names: Vec<String> = query
            .column_names()
            .iter()
            .skip(2)
            .map(ToString::to_string)
            .collect();
        let mut rows = query.query([]).unwrap();
        while let Some(row) = rows.next().unwrap() {
            let (properties, outline) = &zones[found];
            assert_eq!(&names, &properties.keys().cloned().collect::<Vec<_>>());
            for (at, (key, expected)) in properties.iter().enumerate() {
                let value = match row.get::<_, Value>(at + 2).unwrap() {
                    Value::Null => serde_json::Value::Null,
                    Value::Integer(number) => number.into(),
                    Value::Real(number) if number.fract() == 0.0 && expected.is_i64() => {
                        (number as i64).into()
                    }
                    Value::Real(number) => number.into(),
                    Value::Text(text) => text.into(),
                    Value::Blob(_) => panic!("{key} is no shape"),
                };
                assert_eq!(value, super::geojson::in_one_cell(expected), "{key}");
            }
            let blob: Vec<u8> = row.get("geom").unwrap();
            let mut bytes = Bytes(&blob);
            let envelope = bytes.head();
            let shape = bytes.multi_polygon();
            assert!(bytes.0.is_empty());
            assert_eq!(&shape, outline, "bit for bit the vertices of the GeoJSON");
            assert!(shape.unsigned_area() > 0.0);
            let rect = geo::BoundingRect::bounding_rect(outline).unwrap();
            assert_eq!(
                envelope,
                [rect.min().x, rect.max().x, rect.min().y, rect.max().y]
            );
            found += 1;
        }
        assert_eq!(found, zones.len());
    }
}

#[test]
fn the_extent_is_that_of_the_prescription() {
    let delivery = delivered(&Invented::small());
    let map: serde_json::Value =
        serde_json::from_str(&text_of(&delivery, "prescription.geojson")).unwrap();
    let query = "SELECT min_x, min_y, max_x, max_y FROM gpkg_contents WHERE table_name = 'zones'";
    let ends: Vec<[f64; 4]> = rows(&open(&delivery), query, |r| {
        Ok([r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?])
    });
    assert_eq!(serde_json::json!(ends[0]), map["bbox"]);
}

#[test]
fn cores_and_pushes_stand_where_they_were_taken_with_their_values() {
    let invented = Invented::small();
    let database = open(&delivered(&invented));
    assert_eq!(number(&database, "SELECT count(*) FROM cores"), 30);
    assert_eq!(number(&database, "SELECT count(*) FROM cone_pushes"), 48);
    assert_eq!(
        number(
            &database,
            "SELECT count(*) FROM cone_pushes WHERE NOT is_used AND cone_index_profile_maximum_0_30_5cm IS NULL"
        ),
        2
    );
    let query = "SELECT geom, file, row, zone, ph_water_0_15_2cm FROM cores WHERE id = 'C9'";
    let (blob, file, row, zone, ph): (Vec<u8>, String, u32, u32, f64) = database
        .query_row(query, [], |r| {
            Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?, r.get(4)?))
        })
        .unwrap();
    assert_eq!((file.as_str(), row), ("cores.csv", 10));
    assert_eq!(ph, invented.field.layers[0].values[8]);
    let mut bytes = Bytes(&blob);
    assert_eq!(bytes.head().len(), 0, "a point needs no envelope");
    bytes.kind(1);
    let mut place = [(bytes.number(), bytes.number())];
    // Within the rounding of 8 decimals of the place on the plane, and in the zone that the column names.
    let outlines = geojson::zones(&text_of(&delivered(&invented), "prescription.geojson"));
    assert!(geo::Contains::contains(
        &outlines[zone as usize - 1].1,
        &geo::Point::new(place[0].0, place[0].1)
    ));
    invented.field.crs.project(&mut place).unwrap();
    let at = &invented.field.places[0];
    assert!(
        (place[0].0 - at.x[8]).abs() < 1e-3 && (place[0].1 - at.y[8]).abs() < 1e-3,
        "{place:?}"
    );
    let titles = texts(
        &database,
        "SELECT title FROM gpkg_data_columns WHERE column_name IN ('gypsum_lb_ac', 'cone_index_profile_maximum_0_30_5cm')",
    );
    assert_eq!(
        titles,
        [
            "Gypsum, lb/ac",
            "cone index (profile-maximum), 0-12 in, kPa"
        ]
    );
}

#[test]
fn tables_without_a_feature_are_left_out() {
    let mut invented = Invented::small();
    invented.field.kept_out.clear();
    invented.field.cones = vec![None];
    invented.field.places.truncate(1);
    invented.field.layers.truncate(3);
    let database = open(&delivered(&invented));
    assert_eq!(
        texts(
            &database,
            "SELECT table_name FROM gpkg_contents WHERE data_type = 'features'"
        ),
        ["zones", "cores", "boundary"]
    );
    assert_eq!(number(&database, "SELECT count(*) FROM layer_styles"), 3);
}

/// The tags of a document, which must be well-formed.
fn tags(text: &str) -> Vec<String> {
    let mut reader = quick_xml::Reader::from_str(text);
    let (mut tags, mut depth) = (Vec::new(), 0);
    loop {
        match reader
            .read_event()
            .unwrap_or_else(|error| panic!("{error}: {text}"))
        {
            Event::Start(tag) => {
                depth += 1;
                tags.push(tag.name().as_ref().to_owned());
            }
            Event::Empty(tag) => tags.push(tag.name().as_ref().to_owned()),
            Event::End(_) => depth -= 1,
            Event::Eof => break,
            _ => {}
        }
    }
    assert_eq!(depth, 0, "every tag is closed");
    tags
}

#[test]
fn every_layer_has_a_default_style_and_the_zones_the_colours_of_the_report() {
    let delivery = delivered(&Invented::small());
    let database = open(&delivery);
    let styles: Vec<(String, bool, String, String)> = rows(
        &database,
        "SELECT f_table_name, useAsDefault, styleSLD, styleQML FROM layer_styles",
        |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?)),
    );
    assert_eq!(
        styles
            .iter()
            .map(|style| style.0.as_str())
            .collect::<Vec<_>>(),
        ["zones", "cores", "cone_pushes", "keep_outs", "boundary"]
    );
    let html = text_of(&delivery, "report.html");
    for (table, is_default, sld, qml) in &styles {
        assert!(is_default);
        let (sld_tags, qml_tags) = (tags(sld), tags(qml));
        assert!(sld.contains(&format!("<NamedLayer><Name>{table}</Name>")));
        let count = |tags: &[String], name: &str| tags.iter().filter(|tag| *tag == name).count();
        let expected = if table == "zones" { 3 } else { 1 };
        assert_eq!(
            count(&sld_tags, "PolygonSymbolizer") + count(&sld_tags, "PointSymbolizer"),
            expected,
            "{table}"
        );
        assert_eq!(count(&qml_tags, "symbol"), expected, "{table}");
    }
    let (_, _, sld, qml) = &styles[0];
    for zone in 1..=3 {
        let fill = html
            .split(&format!("<use href=\"#z{zone}\" fill=\""))
            .nth(1)
            .unwrap()
            .split('"')
            .next()
            .unwrap();
        let rule = sld
            .split("<Rule>")
            .find(|rule| rule.contains(&format!("<ogc:Literal>{zone}</ogc:Literal>")))
            .expect("a rule");
        assert!(
            rule.contains(&format!(
                "<CssParameter name=\"fill\">{fill}</CssParameter>"
            )),
            "zone {zone} is {fill}: {rule}"
        );
        let channel = |at: usize| u8::from_str_radix(&fill[at..at + 2], 16).unwrap();
        let colour = format!("v=\"{},{},{},255\"", channel(1), channel(3), channel(5));
        assert!(
            qml.split("<symbol ").nth(zone).unwrap().contains(&colour),
            "zone {zone} is {colour}: {qml}"
        );
    }
    assert!(
        sld.contains("; Starter 0.0 gal/ac, Gypsum 500 lb/ac, Ag lime 1,500 lb/ac</Title>"),
        "{sld}"
    );
}

/// What a file may contain to break out of a text: of SQL, of XML.
const HOSTILE: &str = "'); DROP TABLE zones; --\" ]]> </Title><Rule> <!-- & \u{1b}[31m";

#[test]
fn texts_of_the_users_cannot_leave_their_place_in_sql_or_xml() {
    let mut invented = Invented::small();
    invented.settings.field = HOSTILE.to_owned();
    invented.prescription.products[1].label = HOSTILE.to_owned();
    invented.prescription.zones[0].reason = HOSTILE.to_owned();
    invented.field.kept_out[0].why = HOSTILE.to_owned();
    invented.field.places[0].file = HOSTILE.into();
    invented.field.places[0].id.as_mut().unwrap()[4] = HOSTILE.into();
    for name in [HOSTILE, &HOSTILE.replace('-', ".")] {
        let mut layer = invented.field.layers[0].clone();
        layer.key = lowstave::analyte::LayerKey::new(
            lowstave::analyte::Analyte::Covariate(name.into()),
            None,
            None,
        );
        invented.field.layers.push(layer);
    }
    let database = open(&delivered(&invented));
    for query in [
        "SELECT reason FROM zones WHERE fid = 1",
        "SELECT why FROM keep_outs",
        "SELECT id FROM cores WHERE fid = 5",
        "SELECT DISTINCT file FROM cores",
        "SELECT field FROM boundary",
    ] {
        assert_eq!(texts(&database, query), [HOSTILE], "{query}");
    }
    let columns = texts(
        &database,
        "SELECT name FROM pragma_table_info('cores') WHERE name LIKE 'covariate%'",
    );
    assert_eq!(
        columns.len(),
        2,
        "two names that look alike are two columns: {columns:?}"
    );
    assert!(
        columns.iter().all(|name| name
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_')),
        "{columns:?}"
    );
    assert!(
        columns[1].starts_with(columns[0].trim_end_matches('2')),
        "{columns:?}"
    );
    let plain = delivered(&Invented::small());
    for column in ["styleSLD", "styleQML"] {
        let query = format!("SELECT {column} FROM layer_styles WHERE f_table_name = 'zones'");
        let (hostile, plain) = (
            texts(&database, &query).remove(0),
            texts(&open(&plain), &query).remove(0),
        );
        assert_eq!(
            tags(&hostile),
            tags(&plain),
            "the text makes no tag of its own"
        );
        assert!(
            hostile.chars().all(|c| c == '\n' || !c.is_control()),
            "{hostile}"
        );
        assert!(hostile.contains("&lt;/Title&gt;&lt;Rule&gt;"), "{hostile}");
    }
}
