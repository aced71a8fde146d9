//! Shapes from their own system to the field's plane, straight where they were straight.

use std::cell::Cell;

use geo::orient::Direction;
use geo::{
    BooleanOps, BoundingRect, Coord, CoordsIter, GeodesicArea, Geometry, LineString, MapCoords,
    MultiPolygon, Orient, Polygon,
};

use super::meridian;
use super::projection::{ProjectionError, Route, ToDegrees, WorkingCrs};

/// Longest piece of an edge, in degrees of arc (about 100 m). A straight line in degrees bows by less than a
/// millimetre over this length on the field's plane: length² x tan(latitude) / (8 x earth radius).
const LONGEST_PIECE_DEGREES: f64 = 0.0009;
/// Most pieces of one edge, so that a hostile file cannot fill the memory.
const MOST_PIECES: f64 = 1_000.0;

/// A shape in degrees, with the way that PROJ took.
pub(super) fn to_degrees(
    shape: &Geometry<f64>,
    crs: &str,
) -> Result<(Geometry<f64>, Route), ProjectionError> {
    let way = ToDegrees::from(crs)?;
    let shape = if way.is_identity() {
        shape.clone()
    } else {
        with_short_edges(shape, |x, y| way.point(x, y))?
    };
    let degrees = shape.try_map_coords(|c| way.point(c.x, c.y).map(|(x, y)| Coord { x, y }))?;
    let degrees = meridian::continuous(degrees);
    Ok((with_short_edges(&degrees, |x, y| Ok((x, y)))?, way.route()))
}

/// A shape in degrees brought to the field's plane.
pub(super) fn to_plane(
    shape: &Geometry<f64>,
    crs: &WorkingCrs,
) -> Result<Geometry<f64>, ProjectionError> {
    converted(shape, |points| crs.project(points))
}

/// A shape on the field's plane brought back to degrees.
pub(super) fn to_degrees_from_plane(
    shape: &Geometry<f64>,
    crs: &WorkingCrs,
) -> Result<Geometry<f64>, ProjectionError> {
    converted(shape, |points| crs.unproject_outline(points))
}

fn converted(
    shape: &Geometry<f64>,
    convert: impl FnOnce(&mut [(f64, f64)]) -> Result<(), ProjectionError>,
) -> Result<Geometry<f64>, ProjectionError> {
    let mut points: Vec<(f64, f64)> = shape.coords_iter().map(|c| (c.x, c.y)).collect();
    convert(&mut points)?;
    let at = Cell::new(0);
    // map_coords visits the vertices in the order of coords_iter.
    Ok(shape.map_coords(|c| {
        let (x, y) = points
            .get(at.replace(at.get() + 1))
            .copied()
            .unwrap_or((c.x, c.y));
        Coord { x, y }
    }))
}

/// The same shape with vertices added on its long edges; `degrees` brings a vertex to degrees.
fn with_short_edges(
    shape: &Geometry<f64>,
    degrees: impl Fn(f64, f64) -> Result<(f64, f64), ProjectionError> + Copy,
) -> Result<Geometry<f64>, ProjectionError> {
    let line = |l: &LineString<f64>| shorten(l, degrees);
    let polygon = |p: &Polygon<f64>| -> Result<Polygon<f64>, ProjectionError> {
        Ok(Polygon::new(
            line(p.exterior())?,
            p.interiors().iter().map(line).collect::<Result<_, _>>()?,
        ))
    };
    Ok(match shape {
        Geometry::LineString(l) => line(l)?.into(),
        Geometry::MultiLineString(lines) => {
            Geometry::MultiLineString(lines.iter().map(line).collect::<Result<_, _>>()?)
        }
        Geometry::Polygon(p) => polygon(p)?.into(),
        Geometry::MultiPolygon(parts) => {
            Geometry::MultiPolygon(parts.iter().map(polygon).collect::<Result<_, _>>()?)
        }
        Geometry::GeometryCollection(members) => Geometry::GeometryCollection(
            members
                .iter()
                .map(|m| with_short_edges(m, degrees))
                .collect::<Result<_, _>>()?,
        ),
        other => other.clone(),
    })
}

fn shorten(
    line: &LineString<f64>,
    degrees: impl Fn(f64, f64) -> Result<(f64, f64), ProjectionError>,
) -> Result<LineString<f64>, ProjectionError> {
    let mut vertices = Vec::with_capacity(line.0.len());
    for edge in line.lines() {
        let (a, b) = (
            degrees(edge.start.x, edge.start.y)?,
            degrees(edge.end.x, edge.end.y)?,
        );
        let shrink = a.1.to_radians().cos();
        let length = ((b.0 - a.0) * shrink).hypot(b.1 - a.1);
        let pieces = (length / LONGEST_PIECE_DEGREES)
            .ceil()
            .clamp(1.0, MOST_PIECES);
        vertices
            .extend((0..pieces as usize).map(|k| edge.start + edge.delta() * (k as f64 / pieces)));
    }
    vertices.extend(line.0.last());
    Ok(LineString(vertices))
}

/// All areas of a geometry as one valid multipolygon, exteriors counter-clockwise.
pub(super) fn areas_of(shape: Geometry<f64>) -> MultiPolygon<f64> {
    let parts = match shape {
        Geometry::Polygon(p) => MultiPolygon(vec![p]),
        Geometry::MultiPolygon(parts) => parts,
        Geometry::GeometryCollection(members) => {
            let none = MultiPolygon(Vec::new());
            members.into_iter().map(areas_of).fold(none, |all, one| {
                if all.0.is_empty() {
                    one
                } else {
                    all.union(&one)
                }
            })
        }
        _ => MultiPolygon(Vec::new()),
    };
    parts.orient(Direction::Default)
}

/// Area on the ellipsoid of a shape in degrees, m² (Karney 2013, Algorithms for geodesics, J. Geodesy 87:43-55).
pub(super) fn geodesic_area(degrees: &MultiPolygon<f64>) -> f64 {
    degrees.geodesic_area_unsigned()
}

/// Middle of the bounding box; `None` for an empty shape.
pub(super) fn middle(degrees: &MultiPolygon<f64>) -> Option<(f64, f64)> {
    degrees
        .bounding_rect()
        .map(|r| (r.center().x, r.center().y))
}
