//! The ground within a distance of points, lines and areas. Large shapes are taken apart, so that the time grows with
//! their number of vertices and hardly more: short runs of a line are widened by themselves and then joined two by two.

use geo::algorithm::bool_ops::unary_union;
use geo::algorithm::buffer::{Buffer, BufferStyle, LineCap, LineJoin};
use geo::orient::Direction;
use geo::{BooleanOps, Geometry, LineString, MultiPolygon, Orient, Point, Polygon};
use rayon::prelude::*;

/// Angle between the vertices of a round corner, radians.
const CORNER_STEP: f64 = 0.1;
/// Most segments of a run that is widened in one go.
const RUN: usize = 16;
/// Most parts that are joined in one go.
const JOINED_AT_ONCE: usize = 8;

/// The ground within `distance_m` of a shape, its inside included. A line that ends where it began is the outline of
/// something: its inside belongs to it.
pub(super) fn ground_within(shape: &Geometry<f64>, distance_m: f64) -> MultiPolygon<f64> {
    let mut parts = Parts::default();
    parts.take(shape);
    let mut grounds = parts.areas;
    if distance_m > 0.0 {
        // Neighbours stand beside each other, so that what is joined first soon becomes one simple outline.
        let strip = 8.0 * distance_m;
        parts.points.sort_by(|a, b| {
            let key = |p: &Point<f64>| ((p.x() / strip).floor(), p.y(), p.x());
            let (a, b) = (key(a), key(b));
            a.0.total_cmp(&b.0)
                .then(a.1.total_cmp(&b.1))
                .then(a.2.total_cmp(&b.2))
        });
        let points: Vec<_> = parts
            .points
            .par_iter()
            .map(|point| point.buffer_with_style(style(distance_m)))
            .collect();
        let runs: Vec<_> = parts
            .runs
            .par_iter()
            .map(|run| run.buffer_with_style(style(distance_m)))
            .collect();
        grounds.extend(points);
        grounds.extend(runs);
    }
    union_of(&grounds)
}

/// Round corners are drawn as polygons, which lie inside the circle: the distance is widened so that nowhere is nearer
/// than asked.
fn style(distance_m: f64) -> BufferStyle<f64> {
    BufferStyle::new(distance_m / (CORNER_STEP / 2.0).cos())
        .line_cap(LineCap::Round(CORNER_STEP))
        .line_join(LineJoin::Round(CORNER_STEP))
}

/// All areas as one. Halves are joined with halves: the outlines stay short, and the order of the work does not depend on
/// the number of threads.
pub(super) fn union_of(grounds: &[MultiPolygon<f64>]) -> MultiPolygon<f64> {
    match grounds {
        [] => MultiPolygon(Vec::new()),
        few if few.len() <= JOINED_AT_ONCE => unary_union(few),
        many => {
            let (left, right) = many.split_at(many.len() / 2);
            let (left, right) = rayon::join(|| union_of(left), || union_of(right));
            left.union(&right)
        }
    }
}

/// A shape taken apart.
#[derive(Default)]
struct Parts {
    points: Vec<Point<f64>>,
    runs: Vec<LineString<f64>>,
    areas: Vec<MultiPolygon<f64>>,
}

impl Parts {
    fn take(&mut self, shape: &Geometry<f64>) {
        match shape {
            Geometry::Point(point) => self.points.push(*point),
            Geometry::MultiPoint(points) => self.points.extend(&points.0),
            Geometry::Line(line) => self.line(&LineString(vec![line.start, line.end])),
            Geometry::LineString(line) => self.line(line),
            Geometry::MultiLineString(lines) => lines.iter().for_each(|line| self.line(line)),
            Geometry::Polygon(polygon) => self.polygon(polygon),
            Geometry::MultiPolygon(polygons) => polygons.iter().for_each(|p| self.polygon(p)),
            Geometry::GeometryCollection(members) => members.iter().for_each(|m| self.take(m)),
            Geometry::Rect(rect) => self.polygon(&rect.to_polygon()),
            Geometry::Triangle(triangle) => self.polygon(&triangle.to_polygon()),
        }
    }

    fn line(&mut self, line: &LineString<f64>) {
        if is_ring(line) {
            // A line may cross itself; its loops are then areas of their own.
            let loops = Polygon::new(line.clone(), Vec::new());
            self.areas.push(loops.union(&MultiPolygon(Vec::new())));
        }
        self.edges(line);
    }

    fn polygon(&mut self, polygon: &Polygon<f64>) {
        let polygon = polygon.orient(Direction::Default);
        self.areas.push(MultiPolygon(vec![polygon.clone()]));
        self.edges(polygon.exterior());
        polygon.interiors().iter().for_each(|ring| self.edges(ring));
    }

    /// The line in runs that share their ends.
    fn edges(&mut self, line: &LineString<f64>) {
        let mut vertices = line.0.clone();
        vertices.dedup();
        if let [only] = vertices.as_slice() {
            self.points.push(Point(*only));
            return;
        }
        let mut start = 0;
        while start + 1 < vertices.len() {
            let end = (start + RUN).min(vertices.len() - 1);
            self.runs.push(LineString(vertices[start..=end].to_vec()));
            start = end;
        }
    }
}

/// Whether a shape holds a line that ends where it began.
pub(super) fn has_ring(shape: &Geometry<f64>) -> bool {
    match shape {
        Geometry::LineString(line) => is_ring(line),
        Geometry::MultiLineString(lines) => lines.iter().any(is_ring),
        Geometry::GeometryCollection(members) => members.iter().any(has_ring),
        _ => false,
    }
}

/// Whether a line ends where it began and has an inside.
fn is_ring(line: &LineString<f64>) -> bool {
    line.0.len() >= 4 && line.is_closed()
}
