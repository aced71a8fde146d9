//! From edges with a zone on either side to the polygons of each zone.

use std::collections::BTreeMap;

use super::drawing::{Drawing, OUT};
use super::lattice::{Bounds, Point, doubled_area, encloses};

/// A polygon: the outer ring counter-clockwise, then its holes clockwise. A ring starts at its least vertex and does not
/// repeat it.
pub(super) type Rings = Vec<Vec<Point>>;

/// The polygons of each label, sorted by their first vertex.
pub(super) fn polygons(drawing: &Drawing) -> BTreeMap<u8, Vec<Rings>> {
    let cycles = drawing.cycles();
    let mut rings_of: BTreeMap<u8, Vec<Vec<Point>>> = BTreeMap::new();
    for members in &cycles.members {
        let label = drawing.left(members[0]);
        if label != OUT {
            rings_of
                .entry(label)
                .or_default()
                .extend(split(&drawing.ring(members)));
        }
    }
    rings_of
        .into_iter()
        .map(|(label, rings)| (label, assemble(rings)))
        .collect()
}

/// Cuts a closed way at the vertices that it passes more than once, so that every ring is simple.
fn split(way: &[Point]) -> Vec<Vec<Point>> {
    let mut rings = Vec::new();
    let mut open: Vec<Point> = Vec::new();
    let mut place: BTreeMap<Point, usize> = BTreeMap::new();
    for &point in way {
        if let Some(&from) = place.get(&point) {
            let ring: Vec<Point> = open.drain(from..).collect();
            for gone in &ring {
                place.remove(gone);
            }
            rings.push(ring);
        }
        place.insert(point, open.len());
        open.push(point);
    }
    rings.push(open);
    rings.retain(|ring| ring.len() >= 3 && doubled_area(ring) != 0);
    rings
}

/// Puts every hole into the smallest outer ring that holds it.
fn assemble(rings: Vec<Vec<Point>>) -> Vec<Rings> {
    let (outer, holes): (Vec<Vec<Point>>, Vec<Vec<Point>>) =
        rings.into_iter().partition(|ring| doubled_area(ring) > 0);
    let mut polygons: Vec<Rings> = outer
        .into_iter()
        .map(|ring| vec![from_least(ring)])
        .collect();
    let boxes: Vec<Bounds> = polygons
        .iter()
        .map(|polygon| Bounds::new(&polygon[0]))
        .collect();
    for hole in holes {
        // The middle of an edge lies on no other ring, while a vertex may touch one.
        let place = hole[0].middle(hole[1]);
        let holders = (0..polygons.len())
            .filter(|&i| boxes[i].holds(hole[0]) && encloses([polygons[i][0].as_slice()], place));
        if let Some(holder) = holders.min_by_key(|&i| doubled_area(&polygons[i][0])) {
            polygons[holder].push(from_least(hole));
        }
    }
    for polygon in &mut polygons {
        polygon[1..].sort();
    }
    polygons.sort();
    polygons
}

fn from_least(mut ring: Vec<Point>) -> Vec<Point> {
    let least = (0..ring.len())
        .min_by_key(|&index| ring[index])
        .unwrap_or(0);
    ring.rotate_left(least);
    ring
}

#[cfg(test)]
#[path = "rings_tests.rs"]
mod rings_tests;
