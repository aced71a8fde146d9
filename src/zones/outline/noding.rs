//! Polylines of stretches are cut wherever they meet, until they meet at shared vertices only.

use super::lattice::{Point, crossing, is_between};

/// A line of stretches that share what lies on either side.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Polyline {
    /// Vertices; a ring repeats its first.
    pub points: Vec<Point>,
    pub left: u8,
    pub right: u8,
    /// Whether it is part of the outline of the workable area, whose vertices must not move.
    pub is_outline: bool,
}

/// A segment of a polyline.
#[derive(Clone, Copy)]
struct Segment {
    a: Point,
    b: Point,
    polyline: u32,
    index: u32,
}

/// A vertex to be put into a polyline behind the vertex of this index.
type Insert = (u32, u32, Point);

/// Rounds at most; each cut moves a stretch by less than a lattice unit, so that two or three do.
const ROUNDS: usize = 12;

/// Cuts the polylines where they cross or touch. A crossing nearer than `snap` lattice units to a vertex of the outline uses that
/// vertex. `false` where they still cross after many rounds.
pub(super) fn node(polylines: &mut [Polyline], snap: i64) -> bool {
    for _ in 0..ROUNDS {
        let mut inserts = Vec::new();
        meetings(polylines, |one, other| {
            cuts(polylines, one, other, snap, &mut inserts);
        });
        if inserts.is_empty() {
            return true;
        }
        insert(polylines, inserts);
    }
    false
}

/// Indices of the polylines that cross or touch another polyline or themselves other than at shared vertices.
pub(super) fn in_conflict(polylines: &[Polyline]) -> Vec<usize> {
    let mut found = Vec::new();
    meetings(polylines, |one, other| {
        let mut inserts = Vec::new();
        cuts(polylines, one, other, 0, &mut inserts);
        if !inserts.is_empty() || is_same(one, other) {
            found.extend([one.polyline as usize, other.polyline as usize]);
        }
    });
    found.sort_unstable();
    found.dedup();
    found
}

fn is_same(one: Segment, other: Segment) -> bool {
    (one.a, one.b) == (other.a, other.b) || (one.a, one.b) == (other.b, other.a)
}

/// Calls back for each pair of stretches whose boxes meet, by a sweep from west to east.
fn meetings(polylines: &[Polyline], mut meet: impl FnMut(Segment, Segment)) {
    let mut stretches: Vec<Segment> = Vec::new();
    for (polyline, line) in polylines.iter().enumerate() {
        for (index, pair) in line.points.windows(2).enumerate() {
            if pair[0] != pair[1] {
                stretches.push(Segment {
                    a: pair[0],
                    b: pair[1],
                    polyline: polyline as u32,
                    index: index as u32,
                });
            }
        }
    }
    let west = |s: &Segment| s.a.x.min(s.b.x);
    stretches.sort_by_key(|s| (west(s), s.polyline, s.index));
    let mut active: Vec<(i64, i64, i64, Segment)> = Vec::new();
    for &now in &stretches {
        let (from, low, high) = (west(&now), now.a.y.min(now.b.y), now.a.y.max(now.b.y));
        active.retain(|(east, ..)| *east >= from);
        for (_, other_low, other_high, other) in &active {
            if *other_low <= high && *other_high >= low {
                meet(*other, now);
            }
        }
        active.push((now.a.x.max(now.b.x), low, high, now));
    }
}

fn cuts(
    polylines: &[Polyline],
    one: Segment,
    other: Segment,
    snap: i64,
    inserts: &mut Vec<Insert>,
) {
    let put = |stretch: Segment, point: Point| (stretch.polyline, stretch.index, point);
    let ends = |stretch: Segment| [stretch.a, stretch.b];
    let before = inserts.len();
    inserts.extend(
        ends(other)
            .into_iter()
            .filter(|&p| is_between(p, one.a, one.b))
            .map(|p| put(one, p)),
    );
    inserts.extend(
        ends(one)
            .into_iter()
            .filter(|&p| is_between(p, other.a, other.b))
            .map(|p| put(other, p)),
    );
    if inserts.len() > before {
        return;
    }
    let Some(at) = crossing(one.a, one.b, other.a, other.b) else {
        return;
    };
    let is_outline = |stretch: Segment| polylines[stretch.polyline as usize].is_outline;
    let fixed = [one, other]
        .into_iter()
        .filter(|&s| is_outline(s))
        .flat_map(ends);
    let near = fixed
        .filter(|p| p.squared_distance(at) <= i128::from(snap) * i128::from(snap))
        .min_by_key(|p| (p.squared_distance(at), *p));
    let at = near.unwrap_or(at);
    for stretch in [one, other] {
        if !ends(stretch).contains(&at) {
            inserts.push(put(stretch, at));
        }
    }
}

fn insert(polylines: &mut [Polyline], mut inserts: Vec<Insert>) {
    let along = |polylines: &[Polyline], &(polyline, index, point): &Insert| {
        polylines[polyline as usize].points[index as usize].squared_distance(point)
    };
    inserts.sort_by(|a, b| {
        (a.0, a.1)
            .cmp(&(b.0, b.1))
            .then_with(|| along(polylines, a).cmp(&along(polylines, b)))
            .then(a.2.cmp(&b.2))
    });
    inserts.dedup();
    for of_chain in inserts.chunk_by(|a, b| a.0 == b.0) {
        let polyline = &mut polylines[of_chain[0].0 as usize];
        let mut points = Vec::with_capacity(polyline.points.len() + of_chain.len());
        let mut rest = of_chain.iter().peekable();
        for (index, &point) in polyline.points.iter().enumerate() {
            points.push(point);
            while let Some(&&(_, _, cut)) = rest.peek().filter(|insert| insert.1 as usize == index)
            {
                points.push(cut);
                rest.next();
            }
        }
        points.dedup();
        polyline.points = points;
    }
}

#[cfg(test)]
#[path = "noding_tests.rs"]
mod noding_tests;
