//! The finished plane drawing: vertices, edges with what lies on either side, and the cycles that bound its faces.

use std::collections::BTreeMap;

use super::lattice::{Point, by_angle, doubled_area};
use super::noding::Polyline;

/// Outside the workable area.
pub(super) const OUT: u8 = u8::MAX;
/// Inside the workable area, zone not known yet.
pub(super) const INSIDE: u8 = u8::MAX - 1;

/// An edge between two vertices.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Edge {
    pub a: u32,
    pub b: u32,
    /// Left of the way from a to b.
    pub left: u8,
    /// Right of it.
    pub right: u8,
    pub is_outline: bool,
}

impl Edge {
    fn turned(self) -> Self {
        Self {
            a: self.b,
            b: self.a,
            left: self.right,
            right: self.left,
            ..self
        }
    }
}

/// Edges that meet at shared vertices only.
///
/// Each edge is two half-edges: `2 e` runs from a to b, `2 e + 1` back; a half-edge belongs to the face on its left.
#[derive(Debug, Clone)]
pub(super) struct Drawing {
    pub points: Vec<Point>,
    pub edges: Vec<Edge>,
}

/// The closed ways round faces. Counter-clockwise ones bound a face from outside, clockwise ones are its holes.
pub(super) struct Cycles {
    /// Cycle of each half-edge.
    pub of: Vec<u32>,
    /// Half-edges of each cycle, in order.
    pub members: Vec<Vec<u32>>,
    /// Twice the signed area of each cycle, square lattice units.
    pub areas: Vec<i128>,
}

impl Drawing {
    /// The drawing of polylines that meet at shared vertices only. Edges that lie on each other become one.
    pub fn new(polylines: &[Polyline]) -> Self {
        let mut points: Vec<Point> = polylines
            .iter()
            .flat_map(|polyline| polyline.points.iter().copied())
            .collect();
        points.sort_unstable();
        points.dedup();
        let index = |point: Point| points.binary_search(&point).unwrap_or(0) as u32;
        let mut edges = Vec::new();
        for polyline in polylines {
            for pair in polyline.points.windows(2).filter(|pair| pair[0] != pair[1]) {
                let (a, b) = (index(pair[0]), index(pair[1]));
                let edge = Edge {
                    a,
                    b,
                    left: polyline.left,
                    right: polyline.right,
                    is_outline: polyline.is_outline,
                };
                edges.push(if a < b { edge } else { edge.turned() });
            }
        }
        edges.sort_by_key(|edge| (edge.a, edge.b, !edge.is_outline, edge.left, edge.right));
        let edges = edges
            .chunk_by(|one, other| (one.a, one.b) == (other.a, other.b))
            .map(stack)
            .filter(|edge| edge.left != edge.right);
        let edges = edges.collect();
        Self { points, edges }
    }

    /// Where a half-edge starts.
    pub fn origin(&self, half: u32) -> u32 {
        let edge = &self.edges[half as usize / 2];
        if half.is_multiple_of(2) {
            edge.a
        } else {
            edge.b
        }
    }

    /// What lies left of a half-edge.
    pub fn left(&self, half: u32) -> u8 {
        let edge = &self.edges[half as usize / 2];
        if half.is_multiple_of(2) {
            edge.left
        } else {
            edge.right
        }
    }

    /// Length of an edge in lattice units.
    pub fn length(&self, edge: usize) -> f64 {
        let edge = &self.edges[edge];
        self.points[edge.a as usize].distance(self.points[edge.b as usize])
    }

    /// Vertices of a cycle, in order.
    pub fn ring(&self, members: &[u32]) -> Vec<Point> {
        members
            .iter()
            .map(|&half| self.points[self.origin(half) as usize])
            .collect()
    }

    /// Half-edges that leave each vertex, counter-clockwise, and where each vertex's begin in that list.
    fn fans(&self) -> (Vec<u32>, Vec<u32>) {
        let mut leaving: Vec<u32> = (0..2 * self.edges.len() as u32).collect();
        let direction = |half: u32| {
            let (from, to) = (
                self.points[self.origin(half) as usize],
                self.points[self.origin(half ^ 1) as usize],
            );
            (to.x - from.x, to.y - from.y)
        };
        leaving.sort_by(|&g, &h| {
            self.origin(g)
                .cmp(&self.origin(h))
                .then_with(|| by_angle(direction(g), direction(h)))
                .then(g.cmp(&h))
        });
        let mut starts = vec![0_u32; self.points.len() + 1];
        for &half in &leaving {
            starts[self.origin(half) as usize + 1] += 1;
        }
        for vertex in 0..self.points.len() {
            starts[vertex + 1] += starts[vertex];
        }
        (leaving, starts)
    }

    /// Edges at each vertex.
    pub fn degrees(&self) -> Vec<u32> {
        let mut degrees = vec![0; self.points.len()];
        for edge in &self.edges {
            degrees[edge.a as usize] += 1;
            degrees[edge.b as usize] += 1;
        }
        degrees
    }

    /// Takes out the vertices in the middle of an edge of the outline that a line between zones once ended at.
    pub fn drop_idle(&mut self, is_original: impl Fn(Point) -> bool) {
        let degrees = self.degrees();
        let is_idle = |vertex: u32| {
            degrees[vertex as usize] == 2 && !is_original(self.points[vertex as usize])
        };
        let mut at: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
        for (index, edge) in self
            .edges
            .iter()
            .enumerate()
            .filter(|(_, edge)| edge.is_outline)
        {
            for vertex in [edge.a, edge.b]
                .into_iter()
                .filter(|&vertex| is_idle(vertex))
            {
                at.entry(vertex).or_default().push(index);
            }
        }
        at.retain(|_, edges| edges.len() == 2);
        let mut is_used = vec![false; self.edges.len()];
        let mut edges = Vec::new();
        for (index, &edge) in self.edges.iter().enumerate() {
            let is_start = !at.contains_key(&edge.a) || !at.contains_key(&edge.b);
            if is_used[index] || !is_start {
                continue;
            }
            is_used[index] = true;
            let mut whole = if at.contains_key(&edge.a) {
                edge.turned()
            } else {
                edge
            };
            while let Some(next) = at
                .get(&whole.b)
                .and_then(|both| both.iter().copied().find(|&other| !is_used[other]))
            {
                is_used[next] = true;
                let other = self.edges[next];
                whole.b = if other.a == whole.b { other.b } else { other.a };
            }
            edges.push(whole);
        }
        self.edges = edges;
    }

    /// Walks round every face.
    pub fn cycles(&self) -> Cycles {
        let (leaving, starts) = self.fans();
        let mut place = vec![0_u32; leaving.len()];
        for (index, &half) in leaving.iter().enumerate() {
            place[half as usize] = index as u32;
        }
        // At the far end, the next edge clockwise from the way back keeps the face on the left.
        let next = |half: u32| {
            let back = half ^ 1;
            let vertex = self.origin(back) as usize;
            let (from, to) = (starts[vertex], starts[vertex + 1]);
            let at = place[back as usize];
            leaving[if at == from { to - 1 } else { at - 1 } as usize]
        };
        let mut cycles = Cycles {
            of: vec![u32::MAX; leaving.len()],
            members: Vec::new(),
            areas: Vec::new(),
        };
        for start in 0..leaving.len() as u32 {
            if cycles.of[start as usize] != u32::MAX {
                continue;
            }
            let mut members = Vec::new();
            let mut half = start;
            while cycles.of[half as usize] == u32::MAX {
                cycles.of[half as usize] = cycles.members.len() as u32;
                members.push(half);
                half = next(half);
            }
            cycles.areas.push(doubled_area(&self.ring(&members)));
            cycles.members.push(members);
        }
        cycles
    }
}

/// One edge for several that lie on each other: what lies left of the leftmost and right of the rightmost. An edge of the
/// outline wins over a line between zones that runs along it.
fn stack(edges: &[Edge]) -> Edge {
    edges[1..].iter().fold(edges[0], |sum, edge| {
        if sum.right == edge.left {
            Edge {
                right: edge.right,
                ..sum
            }
        } else if edge.right == sum.left {
            Edge {
                left: edge.left,
                ..sum
            }
        } else {
            sum
        }
    })
}
