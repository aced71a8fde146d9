//! Parts with holes become pieces without: some controllers apply product inside a hole.
//!
//! Each part is cut along a chain of lines from its outer ring through one or more holes and back to the outer ring. The lines run from
//! vertex to vertex, so that no new place comes into being and the edges shared with neighbours stay the very same.

use std::cmp::Ordering;

use crate::deliver::degrees::{Part, Ring, Spot, doubled_area};

/// The pieces of a part, each a counter-clockwise ring without holes. A part that cannot be cut (rings that cross) is given back as it is.
///
/// # Errors
/// The part itself, where the pieces do not add up to it.
pub fn without_holes(part: &Part) -> Result<Vec<Ring>, &Part> {
    let mut pieces = Vec::new();
    let mut open = vec![part.clone()];
    while let Some(next) = open.pop() {
        if next.holes.is_empty() {
            pieces.extend(unpinched(next.outer));
        } else {
            open.extend(cut_once(&next).ok_or(part)?);
        }
    }
    let area: i128 = doubled_area(&part.outer)
        + part
            .holes
            .iter()
            .map(|hole| doubled_area(hole))
            .sum::<i128>();
    let is_whole = pieces.iter().map(|piece| doubled_area(piece)).sum::<i128>() == area;
    if is_whole && pieces.iter().all(|piece| doubled_area(piece) > 0) {
        Ok(pieces)
    } else {
        Err(part)
    }
}

/// A place on a ring: which ring (0 the outer one, then the holes) and which of its spots.
type Vertex = (usize, usize);

/// Cuts a part in two along a chain that starts left of its leftmost hole and ends at the outer ring on the right.
fn cut_once(part: &Part) -> Option<[Part; 2]> {
    let rings: Vec<&[Spot]> = std::iter::once(part.outer.as_slice())
        .chain(part.holes.iter().map(Vec::as_slice))
        .collect();
    let first =
        (1..rings.len()).min_by_key(|&ring| rings[ring][extreme(rings[ring], Ordering::Less)])?;
    let left_end = (first, extreme(rings[first], Ordering::Less));
    let start = nearest_visible(&rings, left_end, |spot, (ring, _)| {
        ring == 0 && spot <= at(&rings, left_end)
    })?;
    // Each link: where the chain enters a hole and where it leaves it.
    let mut links = vec![(left_end, (first, extreme(rings[first], Ordering::Greater)))];
    let end = loop {
        let &(_, exit) = links.last()?;
        let next = nearest_visible(&rings, exit, |spot, (ring, _)| {
            ring != exit.0 && spot >= at(&rings, exit)
        })?;
        if next.0 == 0 {
            break next;
        }
        if links.len() >= rings.len() {
            return None;
        }
        links.push((next, (next.0, extreme(rings[next.0], Ordering::Greater))));
    };
    if start == end {
        return None;
    }
    // Holes run clockwise: onwards from entry to exit is the upper side, backwards the lower one.
    let upper_side: Vec<Spot> = links
        .iter()
        .flat_map(|&(entry, exit)| walk(rings[entry.0], entry.1, exit.1))
        .collect();
    let lower_side: Vec<Spot> = links
        .iter()
        .rev()
        .flat_map(|&(entry, exit)| walk(rings[entry.0], exit.1, entry.1))
        .collect();
    let upper = joined(walk(rings[0], end.1, start.1), upper_side);
    let lower = joined(walk(rings[0], start.1, end.1), lower_side);
    // A hole that the chain only touches, at its last spot, is still a hole of the piece that it lies in.
    let used: Vec<usize> = links
        .iter()
        .filter(|(entry, exit)| entry != exit)
        .map(|(entry, _)| entry.0)
        .collect();
    Some(share_out(part, &used, upper, lower))
}

fn at(rings: &[&[Spot]], (ring, spot): Vertex) -> Spot {
    rings[ring][spot]
}

/// Index of the first (`Less`) or last (`Greater`) spot of a ring, by longitude, then latitude.
fn extreme(ring: &[Spot], which: Ordering) -> usize {
    (0..ring.len())
        .reduce(|best, next| {
            if ring[next].cmp(&ring[best]) == which {
                next
            } else {
                best
            }
        })
        .unwrap_or(0)
}

/// The spots of a ring from one index onwards to another, both included.
fn walk(ring: &[Spot], from: usize, to: usize) -> Vec<Spot> {
    let steps = (to + ring.len() - from) % ring.len();
    (0..=steps)
        .map(|step| ring[(from + step) % ring.len()])
        .collect()
}

fn joined(mut one: Vec<Spot>, other: Vec<Spot>) -> Ring {
    one.extend(other);
    one.dedup();
    while one.len() > 1 && one.first() == one.last() {
        one.pop();
    }
    one
}

/// The nearest spot that may be gone to and is seen from a spot of a ring.
fn nearest_visible(
    rings: &[&[Spot]],
    from: Vertex,
    is_allowed: impl Fn(Spot, Vertex) -> bool,
) -> Option<Vertex> {
    let origin = at(rings, from);
    let mut candidates: Vec<(i128, Spot, Vertex)> = Vec::new();
    for (ring, spots) in rings.iter().enumerate() {
        let allowed = spots
            .iter()
            .enumerate()
            .filter(|&(index, &spot)| (ring, index) != from && is_allowed(spot, (ring, index)));
        candidates.extend(
            allowed.map(|(index, &spot)| (squared_distance(origin, spot), spot, (ring, index))),
        );
    }
    candidates.sort_unstable();
    candidates
        .into_iter()
        .find(|&(_, spot, _)| is_visible(rings, origin, spot))
        .map(|(_, _, vertex)| vertex)
}

/// Whether the line between two spots touches no edge of the rings but at its own ends.
fn is_visible(rings: &[&[Spot]], from: Spot, to: Spot) -> bool {
    if from == to {
        return true;
    }
    rings.iter().all(|ring| {
        let edges = ring.iter().zip(ring.iter().cycle().skip(1));
        edges
            .into_iter()
            .all(|(&a, &b)| !is_blocked(from, to, a, b))
    })
}

fn is_blocked(from: Spot, to: Spot, a: Spot, b: Spot) -> bool {
    let touches = |spot: Spot| {
        spot != from && spot != to && turn(from, to, spot) == 0 && is_between(from, to, spot)
    };
    if touches(a) || touches(b) {
        return true;
    }
    let (one, other) = (turn(from, to, a), turn(from, to, b));
    let (first, last) = (turn(a, b, from), turn(a, b, to));
    // An end of the line that lies inside an edge (rings that touch there) blocks as well.
    let ends_inside =
        |spot: Spot, turn: i32| turn == 0 && spot != a && spot != b && is_between(a, b, spot);
    one * other < 0 && first * last < 0 || ends_inside(from, first) || ends_inside(to, last)
}

/// 1 where a, b, c turn to the left, -1 to the right, 0 straight on.
fn turn(a: Spot, b: Spot, c: Spot) -> i32 {
    let (abx, aby) = (i128::from(b.lon - a.lon), i128::from(b.lat - a.lat));
    let (acx, acy) = (i128::from(c.lon - a.lon), i128::from(c.lat - a.lat));
    (abx * acy - aby * acx).signum() as i32
}

/// Whether a spot on the line through two others lies within their box.
fn is_between(a: Spot, b: Spot, spot: Spot) -> bool {
    (a.lon.min(b.lon)..=a.lon.max(b.lon)).contains(&spot.lon)
        && (a.lat.min(b.lat)..=a.lat.max(b.lat)).contains(&spot.lat)
}

fn squared_distance(a: Spot, b: Spot) -> i128 {
    let (x, y) = (i128::from(b.lon - a.lon), i128::from(b.lat - a.lat));
    x * x + y * y
}

/// Gives the holes that were not cut through to the piece that they lie in.
fn share_out(part: &Part, used: &[usize], upper: Ring, lower: Ring) -> [Part; 2] {
    let mut pieces = [
        Part {
            outer: upper,
            holes: Vec::new(),
        },
        Part {
            outer: lower,
            holes: Vec::new(),
        },
    ];
    for (index, hole) in part.holes.iter().enumerate() {
        if !used.contains(&(index + 1)) {
            let piece = usize::from(
                !hole
                    .iter()
                    .find_map(|&spot| is_inside(&pieces[0].outer, spot))
                    .unwrap_or(true),
            );
            pieces[piece].holes.push(hole.clone());
        }
    }
    pieces
}

/// Whether a spot lies inside a ring; `None` where it lies on it.
fn is_inside(ring: &[Spot], spot: Spot) -> Option<bool> {
    let mut inside = false;
    for (&a, &b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
        let side = turn(a, b, spot);
        if side == 0 && is_between(a, b, spot) {
            return None;
        }
        if (a.lat <= spot.lat) != (b.lat <= spot.lat) && (side > 0) == (b.lat > a.lat) {
            inside = !inside;
        }
    }
    Some(inside)
}

/// A ring that passes a spot twice becomes several rings that pass it once.
fn unpinched(ring: Ring) -> Vec<Ring> {
    let mut pieces = Vec::new();
    let mut path: Ring = Vec::with_capacity(ring.len());
    let mut place = std::collections::HashMap::with_capacity(ring.len());
    for spot in ring {
        if let Some(&start) = place.get(&spot) {
            let looped: Ring = path.split_off(start);
            for spot in &looped {
                place.remove(spot);
            }
            pieces.push(looped);
        }
        place.insert(spot, path.len());
        path.push(spot);
    }
    pieces.push(path);
    pieces.retain(|piece| piece.len() > 2 && doubled_area(piece) != 0);
    pieces
}

#[cfg(test)]
#[path = "cut_tests.rs"]
mod tests;
