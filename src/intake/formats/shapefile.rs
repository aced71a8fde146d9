//! Shapefiles to shapes: the `.shp` records and the `.dbf` rows, read from bytes. Every length in the file is checked
//! against the bytes that are there before anything is made of it. The `.shx` index is not needed.

use std::path::{Path, PathBuf};

use geo::{Coord, Geometry, LineString, MultiLineString, MultiPoint, MultiPolygon, Point};

use crate::files::Files;
use crate::provenance::Place;
use crate::remark::Remark;

use crate::intake::error::IntakeError;
use crate::intake::formats::archive::Archive;
use crate::intake::formats::dbase;
use crate::intake::formats::shapes::{MOST_VERTICES, Shape, Shapes, polygon, twice_area};
use crate::intake::source::{place_of, read_whole};
use crate::intake::survey::InputFile;

/// The bytes of the files that make a shapefile.
#[derive(Default)]
pub(in crate::intake) struct Parts<'a> {
    /// Shapes.
    pub shp: &'a [u8],
    /// Attributes.
    pub dbf: Option<&'a [u8]>,
    /// Coordinate system.
    pub prj: Option<&'a [u8]>,
    /// Encoding of the attributes.
    pub cpg: Option<&'a [u8]>,
}

/// Reads a shapefile whose parts lie side by side; the case of the extensions may differ.
pub(in crate::intake) fn read_beside(
    files: &Files,
    path: &Path,
    inputs: &mut Vec<InputFile>,
) -> Result<Shapes, IntakeError> {
    let place = place_of(path);
    let shp = read_whole(files, path, inputs)?;
    let mut beside = |extension: &str| {
        part_beside(files, path, extension)
            .map(|part| read_whole(files, &part, inputs))
            .transpose()
    };
    let (dbf, prj, cpg) = (beside("dbf")?, beside("prj")?, beside("cpg")?);
    from_parts(
        &Parts {
            shp: &shp,
            dbf: dbf.as_deref(),
            prj: prj.as_deref(),
            cpg: cpg.as_deref(),
        },
        &place,
    )
}

fn part_beside(files: &Files, path: &Path, extension: &str) -> Option<PathBuf> {
    let stem = path.file_stem()?;
    let is_part = |name: &String| {
        let other = Path::new(name);
        other
            .file_stem()
            .is_some_and(|own| own.eq_ignore_ascii_case(stem))
            && other
                .extension()
                .is_some_and(|own| own.eq_ignore_ascii_case(extension))
    };
    let name = files.names_beside(path).into_iter().find(is_part)?;
    Some(path.with_file_name(name))
}

/// Reads a zipped shapefile.
pub(in crate::intake) fn from_zip(bytes: &[u8], place: &Place) -> Result<Shapes, IntakeError> {
    let mut archive = Archive::open(bytes, place)?;
    let stem = archive.only_one("shp")?;
    let parts = archive.take(&stem, &["shp", "dbf", "prj", "cpg"])?;
    let part = |extension: &str| parts.get(extension).map(Vec::as_slice);
    from_parts(
        &Parts {
            shp: part("shp").unwrap_or_default(),
            dbf: part("dbf"),
            prj: part("prj"),
            cpg: part("cpg"),
        },
        place,
    )
}

/// Reads a shapefile from the bytes of its parts.
pub(in crate::intake) fn from_parts(
    parts: &Parts<'_>,
    place: &Place,
) -> Result<Shapes, IntakeError> {
    let mut shapes = Shapes {
        crs: parts
            .prj
            .map(|prj| prj_text(prj, place))
            .transpose()?
            .flatten(),
        ..Shapes::default()
    };
    let geometries = Records {
        bytes: parts.shp,
        place,
        vertices: 0,
    }
    .all()?;
    let rows = parts
        .dbf
        .map(|dbf| dbase::rows(dbf, parts.cpg, place))
        .transpose()?;
    let mut nulls = 0;
    for (at, geometry) in geometries.into_iter().enumerate() {
        nulls += usize::from(geometry.is_none());
        let attributes = rows
            .as_ref()
            .and_then(|rows| rows.get(at))
            .cloned()
            .unwrap_or_default();
        if attributes.is_deleted {
            continue;
        }
        shapes.list.push(Shape {
            number: at as u32 + 1,
            geometry,
            attributes: attributes.fields,
        });
    }
    if nulls > 0 {
        let remark = Remark::info(
            "null-shapes",
            format!("{nulls} records without a shape: not used"),
        )
        .at(place.clone());
        shapes.remarks.push(remark);
    }
    Ok(shapes)
}

/// The text of a `.prj`; a local system without a datum is refused.
fn prj_text(bytes: &[u8], place: &Place) -> Result<Option<String>, IntakeError> {
    let text = String::from_utf8_lossy(bytes.get(..bytes.len().min(65_536)).unwrap_or_default());
    let text = text
        .trim_start_matches('\u{feff}')
        .trim()
        .trim_end_matches('\0')
        .to_owned();
    if text.is_empty() {
        return Ok(None);
    }
    let upper = text.to_ascii_uppercase();
    if upper.starts_with("LOCAL_CS")
        || upper.starts_with("ENGCRS")
        || upper.starts_with("ENGINEERINGCRS")
    {
        return Err(IntakeError::CoordinateSystem {
            place: place.clone(),
            what: "the .prj file names a local system that has no place on the earth".to_owned(),
            help: "export the file in degrees or in a projected system, or give crs = \"EPSG:...\" and take the .prj away".to_owned(),
        });
    }
    Ok(Some(text))
}

struct Records<'a> {
    bytes: &'a [u8],
    place: &'a Place,
    vertices: usize,
}

impl Records<'_> {
    fn all(&mut self) -> Result<Vec<Option<Geometry<f64>>>, IntakeError> {
        let code = self
            .bytes
            .get(..4)
            .map(|b| i32::from_be_bytes([b[0], b[1], b[2], b[3]]));
        if code != Some(9994) || self.bytes.len() < 100 {
            return Err(self.malformed("it does not start like a shapefile", None));
        }
        let mut out = Vec::new();
        let mut at = 100;
        while at + 8 <= self.bytes.len() {
            let number = out.len() + 1;
            let words = self
                .bytes
                .get(at + 4..at + 8)
                .map_or(0, |b| i32::from_be_bytes([b[0], b[1], b[2], b[3]]));
            let length = usize::try_from(words)
                .ok()
                .and_then(|words| words.checked_mul(2))
                .filter(|length| *length >= 4);
            let content = length.and_then(|length| {
                self.bytes
                    .get(at + 8..at.checked_add(8)?.checked_add(length)?)
            });
            let Some(content) = content else {
                return Err(self.malformed(
                    "the record is longer than the file or has no length",
                    Some(number),
                ));
            };
            out.push(self.shape(content, number)?);
            at += 8 + content.len();
        }
        Ok(out)
    }

    fn malformed(&self, what: &str, record: Option<usize>) -> IntakeError {
        let what = record.map_or_else(
            || what.to_owned(),
            |record| format!("{what} (record {record})"),
        );
        IntakeError::Malformed {
            place: self.place.clone(),
            format: "a shapefile",
            what,
        }
    }

    fn shape(
        &mut self,
        content: &[u8],
        number: usize,
    ) -> Result<Option<Geometry<f64>>, IntakeError> {
        let kind = int(content, 0).unwrap_or(-1);
        let short =
            |this: &Self| this.malformed("the record is shorter than its shape", Some(number));
        match kind {
            0 => Ok(None),
            1 | 11 | 21 => {
                let point = coord(content, 4).ok_or_else(|| short(self))?;
                self.count(1)?;
                Ok((point.x.is_finite() && point.y.is_finite())
                    .then_some(Geometry::Point(Point(point))))
            }
            8 | 18 | 28 => {
                let count = self.declared(content, 36, number)?;
                let points = self.points(content, 40, count, number)?;
                Ok(Some(Geometry::MultiPoint(MultiPoint(
                    points.into_iter().map(Point).collect(),
                ))))
            }
            3 | 13 | 23 => {
                let lines = self
                    .parts(content, number)?
                    .into_iter()
                    .map(LineString::new)
                    .collect();
                Ok(Some(Geometry::MultiLineString(MultiLineString(lines))))
            }
            5 | 15 | 25 => Ok(Some(Geometry::MultiPolygon(assemble(
                self.parts(content, number)?,
            )))),
            31 => Err(self.malformed(
                "multipatch shapes are not read; export plain polygons",
                Some(number),
            )),
            _ => Err(self.malformed("a shape type that does not exist", Some(number))),
        }
    }

    fn count(&mut self, more: usize) -> Result<(), IntakeError> {
        self.vertices = self.vertices.saturating_add(more);
        if self.vertices > MOST_VERTICES {
            let limit = MOST_VERTICES.to_string();
            return Err(IntakeError::OverLimit {
                place: self.place.clone(),
                what: "the number of vertices".to_owned(),
                limit,
            });
        }
        Ok(())
    }

    /// A count that the record declares; no more than it has bytes for.
    fn declared(&self, content: &[u8], at: usize, number: usize) -> Result<usize, IntakeError> {
        let count = int(content, at).and_then(|count| usize::try_from(count).ok());
        count
            .filter(|count| *count <= content.len())
            .ok_or_else(|| self.malformed("a count that cannot be right", Some(number)))
    }

    fn points(
        &mut self,
        content: &[u8],
        at: usize,
        count: usize,
        number: usize,
    ) -> Result<Vec<Coord<f64>>, IntakeError> {
        let end = count
            .checked_mul(16)
            .and_then(|length| at.checked_add(length))
            .filter(|end| *end <= content.len());
        if end.is_none() {
            return Err(self.malformed("the record is shorter than its points", Some(number)));
        }
        self.count(count)?;
        let points: Vec<Coord<f64>> = (0..count)
            .filter_map(|n| coord(content, at + n * 16))
            .collect();
        if points
            .iter()
            .any(|point| !(point.x.is_finite() && point.y.is_finite()))
        {
            return Err(self.malformed("a coordinate that is no number", Some(number)));
        }
        Ok(points)
    }

    /// The rings or lines of a record.
    fn parts(
        &mut self,
        content: &[u8],
        number: usize,
    ) -> Result<Vec<Vec<Coord<f64>>>, IntakeError> {
        let parts = self.declared(content, 36, number)?;
        let count = self.declared(content, 40, number)?;
        let first_point = parts
            .checked_mul(4)
            .and_then(|length| length.checked_add(44))
            .filter(|at| *at <= content.len());
        let Some(first_point) = first_point else {
            return Err(self.malformed("the record is shorter than its parts", Some(number)));
        };
        let points = self.points(content, first_point, count, number)?;
        let starts: Vec<usize> = (0..parts)
            .filter_map(|n| usize::try_from(int(content, 44 + n * 4)?).ok())
            .collect();
        let mut out = Vec::with_capacity(starts.len());
        for (at, start) in starts.iter().enumerate() {
            let end = starts.get(at + 1).copied().unwrap_or(points.len());
            let part = points.get(*start..end).ok_or_else(|| {
                self.malformed("parts that do not follow each other", Some(number))
            })?;
            out.push(part.to_vec());
        }
        if out.len() != parts {
            return Err(self.malformed("a part with a negative start", Some(number)));
        }
        Ok(out)
    }
}

fn int(bytes: &[u8], at: usize) -> Option<i32> {
    bytes
        .get(at..at + 4)
        .and_then(|b| b.try_into().ok())
        .map(i32::from_le_bytes)
}

fn coord(bytes: &[u8], at: usize) -> Option<Coord<f64>> {
    let number = |at: usize| {
        bytes
            .get(at..at + 8)
            .and_then(|b| b.try_into().ok())
            .map(f64::from_le_bytes)
    };
    Some(Coord {
        x: number(at)?,
        y: number(at + 8)?,
    })
}

/// Rings to polygons: clockwise rings are shells, the others holes of the smallest shell around their first point.
/// A file that has no clockwise ring was written the other way round: then the first ring is a shell.
fn assemble(rings: Vec<Vec<Coord<f64>>>) -> MultiPolygon<f64> {
    let mut rings: Vec<Vec<Coord<f64>>> =
        rings.into_iter().filter(|ring| !ring.is_empty()).collect();
    for ring in &mut rings {
        if let (Some(first), Some(last)) = (ring.first().copied(), ring.last().copied())
            && first != last
        {
            ring.push(first);
        }
    }
    if rings.iter().all(|ring| twice_area(ring) >= 0.0) {
        return MultiPolygon(polygon(rings).into_iter().collect());
    }
    let (shells, holes): (Vec<_>, Vec<_>) =
        rings.into_iter().partition(|ring| twice_area(ring) < 0.0);
    let mut groups: Vec<Vec<Vec<Coord<f64>>>> =
        shells.into_iter().map(|shell| vec![shell]).collect();
    for hole in holes {
        let around = groups
            .iter()
            .enumerate()
            .filter(|(_, group)| {
                group
                    .first()
                    .is_some_and(|shell| hole.first().is_some_and(|point| is_inside(shell, *point)))
            })
            .min_by(|one, other| size(one.1).total_cmp(&size(other.1)))
            .map(|(at, _)| at);
        match around.and_then(|at| groups.get_mut(at)) {
            Some(group) => group.push(hole),
            None => groups.push(vec![hole]),
        }
    }
    MultiPolygon(groups.into_iter().filter_map(polygon).collect())
}

fn size(group: &[Vec<Coord<f64>>]) -> f64 {
    group
        .first()
        .map_or(f64::INFINITY, |shell| twice_area(shell).abs())
}

/// Whether a point lies in a ring, by counting crossings.
fn is_inside(ring: &[Coord<f64>], point: Coord<f64>) -> bool {
    let mut inside = false;
    for pair in ring.windows(2) {
        if let [a, b] = pair
            && (a.y > point.y) != (b.y > point.y)
            && point.x < (b.x - a.x) * (point.y - a.y) / (b.y - a.y) + a.x
        {
            inside = !inside;
        }
    }
    inside
}
