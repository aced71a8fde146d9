//! KML polygons and GPX waypoints, as far as a boundary or sample places need them.

use geo::{Coord, Geometry, MultiPolygon, Point};
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use crate::provenance::Place;

use crate::intake::error::IntakeError;
use crate::intake::formats::shapes::{MOST_VERTICES, Shape, Shapes, polygon};

/// Deepest nesting of elements.
const DEEPEST: usize = 128;
/// Most shapes of a file.
const MOST_SHAPES: usize = 1_000_000;

/// An element's name without its prefix.
fn local(name: &str) -> String {
    name.rsplit(':').next().unwrap_or(name).to_owned()
}

/// The value of an element's attribute.
pub(in crate::intake) fn attribute(start: &BytesStart<'_>, name: &str) -> Option<String> {
    start
        .attributes()
        .filter_map(Result::ok)
        .find(|own| own.key.as_ref() == name)
        .map(|own| own.value.trim().to_owned())
}

/// What the walk through a file tells its reader.
pub(in crate::intake) enum Step<'a> {
    /// An element starts.
    Open(&'a str, &'a BytesStart<'a>),
    /// An element ends; the text since its last child.
    Close(&'a str, &'a str),
}

/// Walks through all elements; `Close` carries the text of an element without children.
pub(in crate::intake) fn walk(
    bytes: &[u8],
    place: &Place,
    format: &'static str,
    mut step: impl FnMut(Step<'_>) -> Result<(), IntakeError>,
) -> Result<(), IntakeError> {
    let malformed = |what: String| IntakeError::Malformed {
        place: place.clone(),
        format,
        what,
    };
    let (text, _) = crate::intake::formats::delimited::text_of(
        bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes),
    );
    let mut reader = Reader::from_str(&text);
    let mut path: Vec<String> = Vec::new();
    let mut content = String::new();
    loop {
        match reader.read_event() {
            Ok(Event::Start(start)) => {
                let name = local(start.name().as_ref());
                content.clear();
                step(Step::Open(&name, &start))?;
                path.push(name);
                check_depth(path.len(), place)?;
            }
            Ok(Event::Empty(start)) => {
                let name = local(start.name().as_ref());
                step(Step::Open(&name, &start))?;
                step(Step::Close(&name, ""))?;
            }
            Ok(Event::End(_)) => {
                if let Some(name) = path.pop() {
                    step(Step::Close(&name, content.trim()))?;
                }
                content.clear();
            }
            Ok(Event::Text(part)) => content.push_str(part.as_ref()),
            Ok(Event::CData(part)) => content.push_str(part.as_ref()),
            Ok(Event::GeneralRef(part)) => content.push_str(referred_to(part.as_ref())),
            Ok(Event::Eof) => {
                return if path.is_empty() {
                    Ok(())
                } else {
                    Err(malformed("it ends inside of an element".to_owned()))
                };
            }
            Ok(_) => {}
            Err(error) => return Err(malformed(error.to_string())),
        }
    }
}

fn check_depth(depth: usize, place: &Place) -> Result<(), IntakeError> {
    if depth > DEEPEST {
        return Err(IntakeError::OverLimit {
            place: place.clone(),
            what: "the nesting".to_owned(),
            limit: DEEPEST.to_string(),
        });
    }
    Ok(())
}

/// The character that a reference such as `&amp;` stands for.
fn referred_to(name: &str) -> &'static str {
    match name {
        "amp" => "&",
        "lt" => "<",
        "gt" => ">",
        "quot" => "\"",
        "apos" => "'",
        _ => "?",
    }
}

/// Waypoints of a GPX file, with their names as `name`.
pub(in crate::intake) fn gpx(bytes: &[u8], place: &Place) -> Result<Shapes, IntakeError> {
    let mut shapes = Shapes {
        is_degrees_by_format: true,
        ..Shapes::default()
    };
    let mut current: Option<Shape> = None;
    walk(bytes, place, "GPX", |step| {
        match step {
            Step::Open("wpt", start) => {
                let number = |name: &str| {
                    attribute(start, name)
                        .and_then(|text| text.parse::<f64>().ok())
                        .filter(|n| n.is_finite())
                };
                let count = shapes.list.len() as u32 + 1;
                let (Some(y), Some(x)) = (number("lat"), number("lon")) else {
                    let what = format!("waypoint {count} has no lat and lon");
                    return Err(IntakeError::Malformed {
                        place: place.clone(),
                        format: "GPX",
                        what,
                    });
                };
                current = Some(Shape {
                    number: count,
                    geometry: Some(Geometry::Point(Point::new(x, y))),
                    attributes: Vec::new(),
                });
            }
            Step::Close("wpt", _) => {
                shapes.list.extend(current.take());
                check_count(shapes.list.len(), place)?;
            }
            Step::Close(name @ ("name" | "cmt" | "desc" | "ele" | "time"), text) => {
                if let Some(shape) = &mut current {
                    shape.attributes.push((name.to_owned(), text.to_owned()));
                }
            }
            _ => {}
        }
        Ok(())
    })?;
    Ok(shapes)
}

fn check_count(count: usize, place: &Place) -> Result<(), IntakeError> {
    if count > MOST_SHAPES {
        return Err(IntakeError::OverLimit {
            place: place.clone(),
            what: "the number of shapes".to_owned(),
            limit: MOST_SHAPES.to_string(),
        });
    }
    Ok(())
}

/// Polygons and points of a KML file; each Placemark is a shape with its `name` and data.
#[derive(Default)]
struct KmlReading {
    shapes: Shapes,
    attributes: Vec<(String, String)>,
    data_key: Option<String>,
    polygons: Vec<geo::Polygon<f64>>,
    rings: Vec<Vec<Coord<f64>>>,
    points: Vec<Point<f64>>,
    is_in_placemark: bool,
    is_in_polygon: bool,
    is_in_point: bool,
    vertices: usize,
}

/// Reads a KML file.
pub(in crate::intake) fn kml(bytes: &[u8], place: &Place) -> Result<Shapes, IntakeError> {
    let mut reading = KmlReading {
        shapes: Shapes {
            is_degrees_by_format: true,
            ..Shapes::default()
        },
        ..KmlReading::default()
    };
    walk(bytes, place, "KML", |step| match step {
        Step::Open(name, start) => {
            reading.open(name, start);
            Ok(())
        }
        Step::Close(name, text) => reading.close(name, text, place),
    })?;
    Ok(reading.shapes)
}

impl KmlReading {
    fn open(&mut self, name: &str, start: &BytesStart<'_>) {
        match name {
            "Placemark" => self.is_in_placemark = true,
            "Polygon" => self.is_in_polygon = true,
            "Point" => self.is_in_point = true,
            "Data" | "SimpleData" => self.data_key = attribute(start, "name"),
            _ => {}
        }
    }

    fn close(&mut self, name: &str, text: &str, place: &Place) -> Result<(), IntakeError> {
        match name {
            "coordinates" if self.is_in_polygon || self.is_in_point => {
                let ring = self.coordinates(text, place)?;
                if self.is_in_point {
                    self.points.extend(ring.first().copied().map(Point));
                } else {
                    self.rings.push(ring);
                }
            }
            "Polygon" => {
                self.is_in_polygon = false;
                self.polygons
                    .extend(polygon(std::mem::take(&mut self.rings)));
            }
            "Point" => self.is_in_point = false,
            "name" if self.is_in_placemark => {
                self.attributes.push(("name".to_owned(), text.to_owned()));
            }
            "value" | "SimpleData" => {
                if let Some(key) = self.data_key.take() {
                    self.attributes.push((key, text.to_owned()));
                }
            }
            "Placemark" => self.placemark(place)?,
            _ => {}
        }
        Ok(())
    }

    fn placemark(&mut self, place: &Place) -> Result<(), IntakeError> {
        self.is_in_placemark = false;
        let polygons = std::mem::take(&mut self.polygons);
        let point = std::mem::take(&mut self.points)
            .into_iter()
            .next()
            .map(Geometry::Point);
        let geometry = if polygons.is_empty() {
            point
        } else {
            Some(Geometry::MultiPolygon(MultiPolygon(polygons)))
        };
        let number = self.shapes.list.len() as u32 + 1;
        self.shapes.list.push(Shape {
            number,
            geometry,
            attributes: std::mem::take(&mut self.attributes),
        });
        check_count(self.shapes.list.len(), place)
    }

    fn coordinates(&mut self, text: &str, place: &Place) -> Result<Vec<Coord<f64>>, IntakeError> {
        let mut ring = Vec::new();
        for position in text.split_whitespace() {
            let mut numbers = position
                .split(',')
                .map(|part| part.trim().parse::<f64>().ok().filter(|n| n.is_finite()));
            let (Some(Some(x)), Some(Some(y))) = (numbers.next(), numbers.next()) else {
                let what = format!(
                    "\"{}\" is not a position",
                    crate::intake::error::clipped(position)
                );
                return Err(IntakeError::Malformed {
                    place: place.clone(),
                    format: "KML",
                    what,
                });
            };
            ring.push(Coord { x, y });
        }
        self.vertices += ring.len();
        if self.vertices > MOST_VERTICES {
            return Err(IntakeError::OverLimit {
                place: place.clone(),
                what: "the number of vertices".to_owned(),
                limit: MOST_VERTICES.to_string(),
            });
        }
        if let (Some(first), Some(last)) = (ring.first().copied(), ring.last().copied())
            && first != last
        {
            ring.push(first);
        }
        Ok(ring)
    }
}
