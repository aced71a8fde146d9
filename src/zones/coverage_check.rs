//! The proof that zones tile: every edge between two zones is used once in each direction by two different zones, every other
//! edge belongs to the outline, and the areas add up. Edges are compared bit by bit.

use geo::{Area, Coord, LineString, MultiPolygon};

/// The most that areas may differ, square metres: 1 cm².
const GAP: f64 = 1e-4;

/// A directed edge by the bits of its ends, and the zone that it belongs to.
type Edge = ([u64; 2], [u64; 2], usize);

/// Checks the polygons of all zones against each other and, where given, against the workable area.
///
/// # Errors
/// With what was found, in words.
pub(super) fn prove(
    zones: &[&MultiPolygon<f64>],
    workable: Option<&MultiPolygon<f64>>,
) -> Result<(), String> {
    let edges = sorted_edges(zones);
    check_sides(&edges)?;
    match workable {
        Some(workable) => {
            check_areas(zones, workable)?;
            check_outline(&edges, workable)
        }
        None => Ok(()),
    }
}

fn sorted_edges(zones: &[&MultiPolygon<f64>]) -> Vec<Edge> {
    let mut edges: Vec<Edge> = Vec::new();
    for (zone, shape) in zones.iter().enumerate() {
        for polygon in *shape {
            for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
                edges.extend(directed(ring, zone));
            }
        }
    }
    edges.sort_unstable();
    edges
}

/// The zone on the other side of an edge.
fn partner(edges: &[Edge], edge: &Edge) -> Option<usize> {
    edges
        .binary_search_by(|other| (other.0, other.1).cmp(&(edge.1, edge.0)))
        .ok()
        .map(|at| edges[at].2)
}

/// Whether each edge has one zone on either side at most, and not the same one on both.
fn check_sides(edges: &[Edge]) -> Result<(), String> {
    if let Some(pair) = edges
        .windows(2)
        .find(|pair| (pair[0].0, pair[0].1) == (pair[1].0, pair[1].1))
    {
        return Err(format!(
            "two zones lie on the same side of the edge at {}",
            show(pair[0].0)
        ));
    }
    if let Some(edge) = edges
        .iter()
        .find(|edge| partner(edges, edge) == Some(edge.2))
    {
        return Err(format!(
            "a zone has itself on the other side of the edge at {}",
            show(edge.0)
        ));
    }
    Ok(())
}

fn check_areas(zones: &[&MultiPolygon<f64>], workable: &MultiPolygon<f64>) -> Result<(), String> {
    let (sum, whole) = (
        zones.iter().map(|shape| shape.signed_area()).sum::<f64>(),
        workable.unsigned_area(),
    );
    // Sums of large products lose digits: allow for that on fields of many square kilometres.
    let allowed = GAP + 1e-11 * whole;
    if (sum - whole).abs() > allowed {
        return Err(format!(
            "their areas add up to {sum} m², the workable area is {whole} m²"
        ));
    }
    Ok(())
}

/// Every edge without a partner must lie on the outline, so that their lengths agree: a gap would add two.
fn check_outline(edges: &[Edge], workable: &MultiPolygon<f64>) -> Result<(), String> {
    let outer: f64 = edges
        .iter()
        .filter(|edge| partner(edges, edge).is_none())
        .map(length)
        .sum();
    let around: f64 = workable
        .iter()
        .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
        .map(ring_length)
        .sum();
    if (outer - around).abs() > 1e-6 + 1e-9 * around {
        return Err(format!(
            "their outer edges are {outer} m long, the outline of the workable area {around} m"
        ));
    }
    Ok(())
}

fn directed(ring: &LineString<f64>, zone: usize) -> impl Iterator<Item = Edge> {
    ring.0
        .windows(2)
        .map(move |pair| (bits(pair[0]), bits(pair[1]), zone))
}

/// Both zeros are one place.
fn bits(coord: Coord<f64>) -> [u64; 2] {
    [(coord.x + 0.0).to_bits(), (coord.y + 0.0).to_bits()]
}

fn show(place: [u64; 2]) -> String {
    format!(
        "({}, {})",
        f64::from_bits(place[0]),
        f64::from_bits(place[1])
    )
}

fn length(edge: &Edge) -> f64 {
    let of = |place: [u64; 2]| (f64::from_bits(place[0]), f64::from_bits(place[1]));
    let ((ax, ay), (bx, by)) = (of(edge.0), of(edge.1));
    (bx - ax).hypot(by - ay)
}

fn ring_length(ring: &LineString<f64>) -> f64 {
    ring.0
        .windows(2)
        .map(|pair| (pair[1].x - pair[0].x).hypot(pair[1].y - pair[0].y))
        .sum()
}

#[cfg(test)]
#[path = "coverage_check_tests.rs"]
mod coverage_check_tests;
