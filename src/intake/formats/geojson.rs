//! GeoJSON (RFC 7946) to shapes. `serde_json` bounds the nesting at 128.

use geo::{
    Coord, Geometry, GeometryCollection, LineString, MultiLineString, MultiPoint, MultiPolygon,
    Point,
};
use serde_json::{Map, Value};

use crate::provenance::Place;
use crate::remark::Remark;

use crate::intake::error::IntakeError;
use crate::intake::formats::shapes::{MOST_VERTICES, Shape, Shapes, polygon};

/// Reads all shapes of a GeoJSON text.
pub(in crate::intake) fn from_bytes(bytes: &[u8], place: &Place) -> Result<Shapes, IntakeError> {
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let document: Value = match serde_json::from_slice(bytes) {
        Ok(document) => document,
        Err(error) => serde_json::from_slice(&without_nan(bytes))
            .map_err(|_| malformed(place, &error.to_string(), error.line()))?,
    };
    let mut reading = Reading {
        place,
        shapes: Shapes {
            is_degrees_by_format: true,
            ..Shapes::default()
        },
        vertices: 0,
        open_rings: 0,
    };
    let Value::Object(root) = document else {
        return Err(malformed(place, "the text is not an object", 1));
    };
    reading.shapes.crs = crs_of(&root, place)?;
    reading.root(&root)?;
    if reading.open_rings > 0 {
        let what = format!(
            "{} rings were not closed: closed with their first point",
            reading.open_rings
        );
        reading
            .shapes
            .remarks
            .push(Remark::info("ring-closed", what).at(place.clone()));
    }
    Ok(reading.shapes)
}

fn malformed(place: &Place, what: &str, line: usize) -> IntakeError {
    let place = if line > 0 {
        place.clone().at_row(line.min(u32::MAX as usize) as u32)
    } else {
        place.clone()
    };
    IntakeError::Malformed {
        place,
        format: "GeoJSON",
        what: what.to_owned(),
    }
}

/// Bare `NaN` and `Infinity` outside of strings become `null`: some programs write them.
fn without_nan(bytes: &[u8]) -> Vec<u8> {
    let mut out = Vec::with_capacity(bytes.len());
    let (mut is_text, mut is_escaped, mut at) = (false, false, 0);
    while let Some(&byte) = bytes.get(at) {
        let rest = bytes.get(at..).unwrap_or_default();
        let word = [&b"-Infinity"[..], b"Infinity", b"NaN", b"nan"]
            .into_iter()
            .find(|word| !is_text && rest.starts_with(word));
        if let Some(word) = word {
            out.extend_from_slice(b"null");
            at += word.len();
            continue;
        }
        is_text ^= byte == b'"' && !is_escaped;
        is_escaped = is_text && byte == b'\\' && !is_escaped;
        out.push(byte);
        at += 1;
    }
    out
}

/// The system that a `crs` member names; degrees on WGS 84 need no word.
fn crs_of(root: &Map<String, Value>, place: &Place) -> Result<Option<String>, IntakeError> {
    let Some(crs) = root.get("crs").filter(|crs| !crs.is_null()) else {
        return Ok(None);
    };
    let name = crs
        .pointer("/properties/name")
        .and_then(Value::as_str)
        .map(str::trim);
    let Some(name) = name else {
        return Err(IntakeError::CoordinateSystem {
            place: place.clone(),
            what: "the crs member does not name a coordinate system".to_owned(),
            help: "take the crs member out (GeoJSON is in degrees), or export the file in degrees"
                .to_owned(),
        });
    };
    let upper = name.to_uppercase();
    if upper.ends_with("CRS84") || upper == "EPSG:4326" || upper.ends_with(":EPSG::4326") {
        return Ok(None);
    }
    let code = upper.strip_prefix("URN:OGC:DEF:CRS:").map(|rest| {
        rest.split(':')
            .filter(|part| !part.is_empty())
            .collect::<Vec<_>>()
    });
    Ok(Some(match code.as_deref() {
        Some([authority, .., code]) => format!("{authority}:{code}"),
        _ => name.to_owned(),
    }))
}

struct Reading<'a> {
    place: &'a Place,
    shapes: Shapes,
    vertices: usize,
    open_rings: usize,
}

impl Reading<'_> {
    fn root(&mut self, root: &Map<String, Value>) -> Result<(), IntakeError> {
        match root.get("type").and_then(Value::as_str) {
            Some("FeatureCollection") => {
                let features = root
                    .get("features")
                    .and_then(Value::as_array)
                    .ok_or_else(|| self.wrong("a FeatureCollection without features"))?;
                features
                    .iter()
                    .try_for_each(|feature| self.feature(feature))
            }
            Some("Feature") => self.feature(&Value::Object(root.clone())),
            Some(_) => {
                let geometry = self.geometry(root)?;
                self.push(Some(geometry), Vec::new());
                Ok(())
            }
            None => Err(self.wrong("the object has no type; it is not GeoJSON")),
        }
    }

    fn wrong(&self, what: &str) -> IntakeError {
        let number = self.shapes.list.len() + 1;
        malformed(self.place, &format!("{what} (shape {number})"), 0)
    }

    fn push(&mut self, geometry: Option<Geometry<f64>>, attributes: Vec<(String, String)>) {
        let number = self.shapes.list.len() as u32 + 1;
        self.shapes.list.push(Shape {
            number,
            geometry,
            attributes,
        });
    }

    fn feature(&mut self, feature: &Value) -> Result<(), IntakeError> {
        if feature.get("type").and_then(Value::as_str) != Some("Feature") {
            return Err(self.wrong("something that is no Feature stands among the features"));
        }
        let mut attributes: Vec<(String, String)> = match feature.get("properties") {
            Some(Value::Object(properties)) => properties
                .iter()
                .map(|(key, value)| (key.clone(), text_of(value)))
                .collect(),
            _ => Vec::new(),
        };
        if let Some(id) = feature
            .get("id")
            .filter(|id| id.is_string() || id.is_number())
            && !attributes.iter().any(|(key, _)| key == "id")
        {
            attributes.push(("id".to_owned(), text_of(id)));
        }
        let geometry = match feature.get("geometry") {
            Some(Value::Object(geometry)) => Some(self.geometry(geometry)?),
            _ => None,
        };
        self.push(geometry, attributes);
        Ok(())
    }

    fn geometry(&mut self, geometry: &Map<String, Value>) -> Result<Geometry<f64>, IntakeError> {
        let kind = geometry.get("type").and_then(Value::as_str).unwrap_or("");
        if kind == "GeometryCollection" {
            let parts = geometry
                .get("geometries")
                .and_then(Value::as_array)
                .ok_or_else(|| self.wrong("a GeometryCollection without geometries"))?;
            let parts = parts.iter().map(|part| match part {
                Value::Object(part) => self.geometry(part),
                _ => Err(self.wrong("a geometry that is no object")),
            });
            return Ok(Geometry::GeometryCollection(GeometryCollection(
                parts.collect::<Result<_, _>>()?,
            )));
        }
        let coordinates = geometry.get("coordinates").ok_or_else(|| {
            self.wrong(&format!(
                "a geometry of type \"{kind}\" without coordinates"
            ))
        })?;
        Ok(match kind {
            "Point" => Geometry::Point(Point(self.position(coordinates)?)),
            "MultiPoint" => Geometry::MultiPoint(MultiPoint(
                self.positions(coordinates)?
                    .into_iter()
                    .map(Point)
                    .collect(),
            )),
            "LineString" => Geometry::LineString(self.line(coordinates)?),
            "MultiLineString" => {
                let lines = self.array(coordinates)?.iter().map(|line| self.line(line));
                Geometry::MultiLineString(MultiLineString(
                    lines.collect::<Result<_, IntakeError>>()?,
                ))
            }
            "Polygon" => Geometry::MultiPolygon(MultiPolygon(
                self.polygon(coordinates)?.into_iter().collect(),
            )),
            "MultiPolygon" => {
                let mut polygons = Vec::new();
                for part in self.array(coordinates)? {
                    polygons.extend(self.polygon(part)?);
                }
                Geometry::MultiPolygon(MultiPolygon(polygons))
            }
            other => return Err(self.wrong(&format!("\"{other}\" is not a geometry type"))),
        })
    }

    fn array<'v>(&self, value: &'v Value) -> Result<&'v Vec<Value>, IntakeError> {
        value
            .as_array()
            .ok_or_else(|| self.wrong("coordinates are not a list"))
    }

    fn line(&mut self, value: &Value) -> Result<LineString<f64>, IntakeError> {
        let positions = self.positions(value)?;
        if positions.len() < 2 {
            return Err(self.wrong("a line of less than two positions"));
        }
        Ok(LineString::new(positions))
    }

    fn polygon(&mut self, rings: &Value) -> Result<Option<geo::Polygon<f64>>, IntakeError> {
        let mut all = Vec::new();
        for ring in self.array(rings)? {
            let mut ring = self.positions(ring)?;
            if let (Some(first), Some(last)) = (ring.first().copied(), ring.last().copied())
                && first != last
            {
                ring.push(first);
                self.open_rings += 1;
            }
            all.push(ring);
        }
        Ok(polygon(all))
    }

    fn positions(&mut self, value: &Value) -> Result<Vec<Coord<f64>>, IntakeError> {
        self.array(value)?
            .iter()
            .map(|position| self.position(position))
            .collect()
    }

    fn position(&mut self, value: &Value) -> Result<Coord<f64>, IntakeError> {
        self.vertices += 1;
        if self.vertices > MOST_VERTICES {
            let limit = format!("{MOST_VERTICES}");
            return Err(IntakeError::OverLimit {
                place: self.place.clone(),
                what: "the number of vertices".to_owned(),
                limit,
            });
        }
        let numbers = self.array(value)?;
        match (
            numbers.first().and_then(Value::as_f64),
            numbers.get(1).and_then(Value::as_f64),
        ) {
            (Some(x), Some(y)) if x.is_finite() && y.is_finite() => Ok(Coord { x, y }),
            _ => Err(self.wrong("a position is not two numbers")),
        }
    }
}

/// A property as the text that a table would hold.
fn text_of(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}
