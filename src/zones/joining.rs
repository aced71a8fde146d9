//! Zones that become one. Neighbours share every vertex of their common edge, so that edge is struck out and the rest closes
//! into rings again: nothing is rounded, and what is left still tiles.

use std::collections::BTreeMap;

use geo::{Area, Contains, Coord, LineString, MultiPolygon, Point, Polygon};

use super::{Zone, Zones};

impl Zones {
    /// The zones with those of one group as one. `groups` gives the new index of each zone; the indices run from 0 without a gap.
    #[must_use]
    pub fn joined(&self, groups: &[u16]) -> Self {
        let count = groups.iter().map(|group| *group as usize + 1).max();
        let zones = (0..count.unwrap_or(0))
            .map(|group| {
                let members: Vec<&Zone> = self
                    .zones
                    .iter()
                    .zip(groups)
                    .filter(|(_, own)| **own as usize == group)
                    .map(|(zone, _)| zone)
                    .collect();
                one_zone(&members)
            })
            .collect();
        let of_cell = self
            .of_cell
            .iter()
            .map(|zone| groups.get(*zone as usize).copied().unwrap_or(0))
            .collect();
        Self {
            of_cell,
            zones,
            ..self.clone()
        }
    }
}

fn one_zone(members: &[&Zone]) -> Zone {
    if let [only] = members {
        return (*only).clone();
    }
    Zone {
        shape: without_common_edges(members.iter().map(|zone| &zone.shape)),
        lonlat: without_common_edges(members.iter().map(|zone| &zone.lonlat)),
        area_m2: members.iter().map(|zone| zone.area_m2).sum(),
    }
}

/// A place by its bits, so that it can be a key; both zeros are one place.
type Key = [u64; 2];
/// Edges from place to place.
type Edges = BTreeMap<(Key, Key), (Coord<f64>, Coord<f64>)>;

fn key(at: Coord<f64>) -> Key {
    [(at.x + 0.0).to_bits(), (at.y + 0.0).to_bits()]
}

/// The areas as one, their inside on the left of every edge.
fn without_common_edges<'a>(
    shapes: impl Iterator<Item = &'a MultiPolygon<f64>>,
) -> MultiPolygon<f64> {
    let mut edges = Edges::new();
    for shape in shapes {
        let rings = shape
            .iter()
            .flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()));
        for pair in rings.flat_map(|ring| ring.0.windows(2)) {
            let (from, to) = (pair[0], pair[1]);
            if edges.remove(&(key(to), key(from))).is_none() {
                edges.insert((key(from), key(to)), (from, to));
            }
        }
    }
    polygons(rings(edges))
}

/// Follows the edges from vertex to vertex until each way is closed.
fn rings(mut edges: Edges) -> Vec<Vec<Coord<f64>>> {
    let mut rings = Vec::new();
    while let Some((_, (first, mut to))) = edges.pop_first() {
        let mut way = vec![first];
        let mut from = first;
        while key(to) != key(first) {
            way.push(to);
            let Some(next) = sharpest_left(&edges, from, to) else {
                break;
            };
            edges.remove(&(key(to), key(next)));
            (from, to) = (to, next);
        }
        rings.extend(simple(way));
    }
    rings
}

/// Where several edges leave a vertex, the one that keeps the same inside on the left.
fn sharpest_left(edges: &Edges, from: Coord<f64>, at: Coord<f64>) -> Option<Coord<f64>> {
    let back = (from.y - at.y).atan2(from.x - at.x);
    let turn = |to: &Coord<f64>| {
        let angle = (to.y - at.y).atan2(to.x - at.x);
        // Clockwise from the way back.
        let turn = (back - angle).rem_euclid(std::f64::consts::TAU);
        if turn == 0.0 {
            std::f64::consts::TAU
        } else {
            turn
        }
    };
    edges
        .range((key(at), [0, 0])..=(key(at), [u64::MAX, u64::MAX]))
        .map(|(_, (_, to))| *to)
        .min_by(|a, b| turn(a).total_cmp(&turn(b)))
}

/// Cuts a closed way at the vertices that it passes more than once.
fn simple(way: Vec<Coord<f64>>) -> Vec<Vec<Coord<f64>>> {
    let (mut rings, mut open) = (Vec::new(), Vec::new());
    let mut places: BTreeMap<Key, usize> = BTreeMap::new();
    for at in way {
        if let Some(&from) = places.get(&key(at)) {
            let ring: Vec<Coord<f64>> = open.drain(from..).collect();
            for gone in &ring {
                places.remove(&key(*gone));
            }
            rings.push(ring);
        }
        places.insert(key(at), open.len());
        open.push(at);
    }
    rings.push(open);
    rings.retain(|ring| ring.len() >= 3);
    rings
}

/// Every hole goes into the smallest outer ring that holds it.
fn polygons(rings: Vec<Vec<Coord<f64>>>) -> MultiPolygon<f64> {
    let closed = rings.into_iter().map(|mut ring| {
        ring.push(ring[0]);
        Polygon::new(LineString(ring), Vec::new())
    });
    let (mut outer, holes): (Vec<Polygon<f64>>, Vec<Polygon<f64>>) =
        closed.partition(|ring| ring.signed_area() > 0.0);
    for hole in holes {
        // The middle of an edge lies on no other ring, while a vertex may touch one.
        let edge = (hole.exterior().0[0], hole.exterior().0[1]);
        let middle = Point((edge.0 + edge.1) / 2.0);
        let holder = outer
            .iter_mut()
            .filter(|ring| Polygon::new(ring.exterior().clone(), Vec::new()).contains(&middle))
            .min_by(|a, b| a.unsigned_area().total_cmp(&b.unsigned_area()));
        if let Some(holder) = holder {
            holder.interiors_push(hole.into_inner().0);
        }
    }
    MultiPolygon(outer)
}
