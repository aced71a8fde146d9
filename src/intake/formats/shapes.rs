//! Shapes with attributes, as GeoJSON, shapefile, KML and GPX hold them.

use std::path::Path;

use geo::{Coord, Geometry, LineString, MultiPolygon, Polygon};

use crate::remark::Remark;

/// Most vertices in one file of boundaries.
pub(in crate::intake) const MOST_VERTICES: usize = 5_000_000;
/// Most shapes in one file whose rows are shapes.
#[cfg(any(feature = "geopackage", feature = "geoparquet"))]
pub(in crate::intake) const MOST_SHAPES: usize = 5_000_000;

/// One shape with its attributes as text.
#[derive(Debug, Clone)]
pub(in crate::intake) struct Shape {
    /// Number in the file, from 1.
    pub number: u32,
    /// The shape; `None` where the file says there is none.
    pub geometry: Option<Geometry<f64>>,
    /// Attributes in the file's order.
    pub attributes: Vec<(String, String)>,
}

impl Shape {
    /// The shape's place, where it is a single point.
    pub(in crate::intake) fn point(&self) -> Option<(f64, f64)> {
        match self.geometry.as_ref()? {
            Geometry::Point(point) => Some(point.0.x_y()),
            _ => None,
        }
    }
}

/// All shapes of a file.
#[derive(Debug, Clone, Default)]
pub(in crate::intake) struct Shapes {
    /// The shapes.
    pub list: Vec<Shape>,
    /// What the file says of the coordinate system.
    pub crs: Option<String>,
    /// Whether the format itself says degrees on WGS 84 (RFC 7946, KML, GPX).
    pub is_degrees_by_format: bool,
    /// What can go on.
    pub remarks: Vec<Remark>,
}

/// Formats of shapes, by the file's extension.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShapeFormat {
    /// RFC 7946.
    GeoJson,
    /// Shapefile, its parts side by side.
    Shapefile,
    /// Zipped shapefile.
    ZippedShapefile,
    /// Keyhole markup.
    Kml,
    /// Zipped keyhole markup.
    Kmz,
    /// GPS exchange format.
    Gpx,
    /// A layer of a GeoPackage.
    GeoPackage,
    /// A table of rows with shapes.
    GeoParquet,
}

/// Which layer of a file of several is wanted.
#[derive(Debug, Clone, Copy)]
pub(in crate::intake) enum LayerWish<'a> {
    /// The one of this name.
    Named(&'a str),
    /// The only one that is not of points.
    Areas,
    /// The only one of points.
    Points,
}

impl<'a> LayerWish<'a> {
    /// The layer that the plan names, else the only one of a kind.
    pub(in crate::intake) fn or(name: Option<&'a str>, kind: Self) -> Self {
        name.map_or(kind, Self::Named)
    }
}

/// The format of a file of shapes; `None` for a table of text.
#[must_use]
pub fn shape_format(path: &Path) -> Option<ShapeFormat> {
    let extension = path.extension()?.to_str()?.to_ascii_lowercase();
    Some(match extension.as_str() {
        "geojson" | "json" => ShapeFormat::GeoJson,
        "shp" => ShapeFormat::Shapefile,
        "zip" => ShapeFormat::ZippedShapefile,
        "kml" => ShapeFormat::Kml,
        "kmz" => ShapeFormat::Kmz,
        "gpx" => ShapeFormat::Gpx,
        "gpkg" => ShapeFormat::GeoPackage,
        "parquet" | "geoparquet" => ShapeFormat::GeoParquet,
        _ => return None,
    })
}

/// A polygon from rings; the winding is set (shell counter-clockwise, holes clockwise).
pub(in crate::intake) fn polygon(mut rings: Vec<Vec<Coord<f64>>>) -> Option<Polygon<f64>> {
    if rings.is_empty() {
        return None;
    }
    let mut shell = rings.remove(0);
    if twice_area(&shell) < 0.0 {
        shell.reverse();
    }
    let holes = rings.into_iter().map(|mut hole| {
        if twice_area(&hole) > 0.0 {
            hole.reverse();
        }
        LineString::new(hole)
    });
    Some(Polygon::new(LineString::new(shell), holes.collect()))
}

/// Twice the signed area of a ring, counter-clockwise positive.
pub(in crate::intake) fn twice_area(ring: &[Coord<f64>]) -> f64 {
    let Some(origin) = ring.first() else {
        return 0.0;
    };
    let local = |c: &Coord<f64>| (c.x - origin.x, c.y - origin.y);
    ring.windows(2)
        .map(|pair| match pair {
            [a, b] => {
                let ((ax, ay), (bx, by)) = (local(a), local(b));
                ax * by - bx * ay
            }
            _ => 0.0,
        })
        .sum()
}

/// The polygons of a geometry; `Err` holds the kind of a part that is none.
pub(in crate::intake) fn polygons_of(
    geometry: &Geometry<f64>,
) -> Result<Vec<Polygon<f64>>, &'static str> {
    Ok(match geometry {
        Geometry::Polygon(polygon) => vec![polygon.clone()],
        Geometry::MultiPolygon(MultiPolygon(polygons)) => polygons.clone(),
        Geometry::GeometryCollection(parts) => {
            let mut all = Vec::new();
            for part in parts {
                all.extend(polygons_of(part)?);
            }
            all
        }
        Geometry::Point(_) | Geometry::MultiPoint(_) => return Err("a point"),
        Geometry::LineString(_) | Geometry::MultiLineString(_) | Geometry::Line(_) => {
            return Err("a line");
        }
        _ => return Err("another shape"),
    })
}
