//! Whether rings are what a field's outline can be: enough points, an area, and no crossing.

use geo::{Coord, MultiPolygon, Polygon};

/// Most comparisons of edges: a few seconds; an outline that was driven needs a thousandth of it.
const MOST_COMPARISONS: usize = 1_000_000_000;

/// What is wrong with a shape.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::intake) enum RingFault {
    /// Fewer than three different points.
    TooFewPoints,
    /// Points on one line.
    NoArea,
    /// Two edges cross here.
    Crossing(f64, f64),
    /// Two edges lie on each other here.
    Overlap(f64, f64),
    /// So many edges beside each other that the check would not end in reasonable time.
    TooTangled,
}

#[derive(Debug, Clone, Copy)]
struct Edge {
    a: Coord<f64>,
    b: Coord<f64>,
}

impl Edge {
    fn span_x(&self) -> (f64, f64) {
        (self.a.x.min(self.b.x), self.a.x.max(self.b.x))
    }

    fn span_y(&self) -> (f64, f64) {
        (self.a.y.min(self.b.y), self.a.y.max(self.b.y))
    }
}

/// The first fault of the rings of a shape, all polygons taken together.
pub(in crate::intake) fn fault(shape: &MultiPolygon<f64>) -> Option<RingFault> {
    let rings: Vec<&[Coord<f64>]> = shape.0.iter().flat_map(rings_of).collect();
    let steps = |ring: &[Coord<f64>]| {
        ring.windows(2)
            .filter(|pair| matches!(pair, [a, b] if a != b))
            .count()
    };
    if rings.iter().any(|ring| steps(ring) < 3) {
        return Some(RingFault::TooFewPoints);
    }
    let has_no_area = rings
        .iter()
        .any(|ring| crate::intake::formats::shapes::twice_area(ring) == 0.0);
    match first_crossing(edges_of(shape)) {
        Some(crossing @ RingFault::Crossing(..)) => Some(crossing),
        _ if has_no_area => Some(RingFault::NoArea),
        other => other,
    }
}

fn rings_of(polygon: &Polygon<f64>) -> impl Iterator<Item = &[Coord<f64>]> {
    std::iter::once(polygon.exterior())
        .chain(polygon.interiors())
        .map(|ring| ring.0.as_slice())
}

fn edges_of(shape: &MultiPolygon<f64>) -> Vec<Edge> {
    let rings = shape.0.iter().flat_map(rings_of);
    let pairs = rings.flat_map(|ring| ring.windows(2));
    pairs
        .filter_map(|pair| {
            if let [a, b] = pair {
                (a != b).then_some(Edge { a: *a, b: *b })
            } else {
                None
            }
        })
        .collect()
}

/// Sweeps the edges from west to east. The open ones stand in bands from south to north, so that each edge meets only those whose spans
/// are near its own in both directions.
fn first_crossing(mut edges: Vec<Edge>) -> Option<RingFault> {
    edges.sort_by(|one, other| one.span_x().0.total_cmp(&other.span_x().0));
    let bands = Bands::over(&edges);
    let mut open: Vec<Vec<Edge>> = vec![Vec::new(); bands.count];
    let mut comparisons = 0_usize;
    for edge in edges {
        let (from, _) = edge.span_x();
        let (low, high) = edge.span_y();
        let own = bands.of(low)..=bands.of(high);
        for band in open.get_mut(own).into_iter().flatten() {
            comparisons += band.len() + 1;
            if comparisons > MOST_COMPARISONS {
                return Some(RingFault::TooTangled);
            }
            band.retain(|other| other.span_x().1 >= from);
            let mut near = band
                .iter()
                .filter(|other| other.span_y().1 >= low && other.span_y().0 <= high);
            if let Some(found) = near.find_map(|other| meet(&edge, other)) {
                return Some(found);
            }
            band.push(edge);
        }
    }
    None
}

/// Bands of one height over the edges of a shape.
struct Bands {
    south: f64,
    height: f64,
    count: usize,
}

impl Bands {
    /// As many bands as the edges are high on a side, so that a band holds few of them.
    fn over(edges: &[Edge]) -> Self {
        let spans = edges.iter().map(Edge::span_y);
        let (south, north) = spans.fold((f64::INFINITY, f64::NEG_INFINITY), |all, own| {
            (all.0.min(own.0), all.1.max(own.1))
        });
        let count = (edges.len() as f64).sqrt().ceil().max(1.0);
        let height = ((north - south) / count).max(f64::MIN_POSITIVE);
        Self {
            south,
            height,
            count: count as usize,
        }
    }

    fn of(&self, y: f64) -> usize {
        (((y - self.south) / self.height).max(0.0) as usize).min(self.count - 1)
    }
}

/// Sign of the turn from `a` over `b` to `c`.
fn turn(a: Coord<f64>, b: Coord<f64>, c: Coord<f64>) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

/// Whether two edges cross in their insides, or lie on each other over some length. A touch at a point is no fault.
fn meet(one: &Edge, other: &Edge) -> Option<RingFault> {
    let (c, d) = (turn(one.a, one.b, other.a), turn(one.a, one.b, other.b));
    let (a, b) = (turn(other.a, other.b, one.a), turn(other.a, other.b, one.b));
    if c * d < 0.0 && a * b < 0.0 {
        let share = a / (a - b);
        return Some(RingFault::Crossing(
            one.a.x + (one.b.x - one.a.x) * share,
            one.a.y + (one.b.y - one.a.y) * share,
        ));
    }
    if [a, b, c, d].iter().all(|turn| *turn == 0.0) {
        let is_steep = (one.b.x - one.a.x).abs() < (one.b.y - one.a.y).abs();
        let ((from, to), (other_from, other_to)) = if is_steep {
            (one.span_y(), other.span_y())
        } else {
            (one.span_x(), other.span_x())
        };
        let (start, end) = (from.max(other_from), to.min(other_to));
        return (end > start).then_some(RingFault::Overlap(one.a.x, one.a.y));
    }
    None
}

#[cfg(test)]
mod tests {
    use geo::{MultiPolygon, polygon};

    use super::*;

    #[test]
    fn a_bow_tie_is_found_with_the_place_of_its_crossing() {
        let bow = polygon![(x: 0.0, y: 0.0), (x: 2.0, y: 2.0), (x: 2.0, y: 0.0), (x: 0.0, y: 2.0), (x: 0.0, y: 0.0)];
        assert_eq!(
            fault(&MultiPolygon(vec![bow])),
            Some(RingFault::Crossing(1.0, 1.0))
        );
    }

    #[test]
    fn a_square_with_a_hole_and_a_second_part_has_no_fault() {
        let with_hole = polygon!(
            exterior: [(x: 0.0, y: 0.0), (x: 4.0, y: 0.0), (x: 4.0, y: 4.0), (x: 0.0, y: 4.0), (x: 0.0, y: 0.0)],
            interiors: [[(x: 1.0, y: 1.0), (x: 1.0, y: 2.0), (x: 2.0, y: 2.0), (x: 1.0, y: 1.0)]]
        );
        let second =
            polygon![(x: 4.0, y: 4.0), (x: 6.0, y: 4.0), (x: 6.0, y: 6.0), (x: 4.0, y: 4.0)];
        assert_eq!(fault(&MultiPolygon(vec![with_hole, second])), None);
    }

    #[test]
    fn rings_without_points_or_area_and_doubled_edges_are_faults() {
        let line = polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 1.0), (x: 2.0, y: 2.0), (x: 0.0, y: 0.0)];
        assert_eq!(fault(&MultiPolygon(vec![line])), Some(RingFault::NoArea));
        let two = polygon![(x: 0.0, y: 0.0), (x: 1.0, y: 1.0), (x: 0.0, y: 0.0)];
        assert_eq!(
            fault(&MultiPolygon(vec![two])),
            Some(RingFault::TooFewPoints)
        );
        let spike = polygon![(x: 0.0, y: 0.0), (x: 2.0, y: 0.0), (x: 4.0, y: 0.0), (x: 2.0, y: 0.0), (x: 2.0, y: 2.0), (x: 0.0, y: 0.0)];
        assert!(matches!(
            fault(&MultiPolygon(vec![spike])),
            Some(RingFault::Overlap(..))
        ));
    }
}
