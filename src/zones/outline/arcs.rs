//! The lines between zones on the corners of the cells, each extracted once.

use crate::zones::raster::NONE;

/// A line along cell edges between two zones, from node to node or closed. A node is a corner where the pair of
/// neighbours changes: three or more zones meet, or the labelled cells end.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Arc {
    /// Corners as (column, row), counted from the north-west corner of the rectangle. A closed line does not repeat its first.
    pub corners: Vec<(i32, i32)>,
    /// Zone on the left of the way.
    pub left: u8,
    /// Zone on the right of the way.
    pub right: u8,
    pub is_closed: bool,
}

/// Ways from a corner, in turn: north, east, south, west.
const STEPS: [(i32, i32); 4] = [(0, -1), (1, 0), (0, 1), (-1, 0)];

struct Corners<'a> {
    labels: &'a [u8],
    width: usize,
    height: usize,
    /// Bit per way: the edge that leaves the corner that way has been taken.
    taken: Vec<u8>,
}

/// All lines between two zones. The outermost cells of the rectangle must be empty.
pub(super) fn extract(labels: &[u8], width: usize, height: usize) -> Vec<Arc> {
    let mut corners = Corners {
        labels,
        width,
        height,
        taken: vec![0; (width + 1) * (height + 1)],
    };
    let busy = corners.with_edges();
    let mut found = Vec::new();
    // Lines that end at nodes first; what is left over is closed.
    for is_closed in [false, true] {
        for &corner in &busy {
            if !is_closed && !corners.is_node(corner) {
                continue;
            }
            for way in 0..4 {
                if corners.sides(corner, way).is_some() && !corners.is_taken(corner, way) {
                    found.push(corners.follow(corner, way, is_closed));
                }
            }
        }
    }
    found
}

impl Corners<'_> {
    /// Corners that a line runs through, row by row.
    fn with_edges(&self) -> Vec<(i32, i32)> {
        let mut busy = Vec::new();
        for row in 1..self.height {
            let (above, below) = (
                &self.labels[(row - 1) * self.width..row * self.width],
                &self.labels[row * self.width..(row + 1) * self.width],
            );
            for column in 1..self.width {
                let (a, b, c, d) = (
                    above[column - 1],
                    above[column],
                    below[column - 1],
                    below[column],
                );
                if (a == b && c == d && a == c)
                    || !(differ(a, b) || differ(c, d) || differ(a, c) || differ(b, d))
                {
                    continue;
                }
                busy.push((column as i32, row as i32));
            }
        }
        busy
    }

    fn cell(&self, column: i32, row: i32) -> u8 {
        let is_inside = column >= 0
            && row >= 0
            && (column as usize) < self.width
            && (row as usize) < self.height;
        if is_inside {
            self.labels[row as usize * self.width + column as usize]
        } else {
            NONE
        }
    }

    /// Zones left and right of the edge that leaves a corner one way; `None` where it does not part two zones.
    fn sides(&self, (column, row): (i32, i32), way: usize) -> Option<(u8, u8)> {
        let (north_west, north_east) = (self.cell(column - 1, row - 1), self.cell(column, row - 1));
        let (south_west, south_east) = (self.cell(column - 1, row), self.cell(column, row));
        let (left, right) = [
            (north_west, north_east),
            (north_east, south_east),
            (south_east, south_west),
            (south_west, north_west),
        ][way];
        differ(left, right).then_some((left, right))
    }

    fn is_node(&self, corner: (i32, i32)) -> bool {
        let mut pairs = (0..4).filter_map(|way| self.sides(corner, way));
        match (pairs.next(), pairs.next(), pairs.next()) {
            // One edge comes, the other goes: the zones on its left and right are seen from the other end.
            (Some(one), Some(other), None) => one != (other.1, other.0),
            _ => true,
        }
    }

    fn index(&self, (column, row): (i32, i32)) -> usize {
        row as usize * (self.width + 1) + column as usize
    }

    fn is_taken(&self, corner: (i32, i32), way: usize) -> bool {
        self.taken[self.index(corner)] & (1 << way) != 0
    }

    fn take(&mut self, corner: (i32, i32), way: usize) -> (i32, i32) {
        let next = (corner.0 + STEPS[way].0, corner.1 + STEPS[way].1);
        let (here, there) = (self.index(corner), self.index(next));
        self.taken[here] |= 1 << way;
        self.taken[there] |= 1 << ((way + 2) % 4);
        next
    }

    fn follow(&mut self, start: (i32, i32), first_way: usize, is_closed: bool) -> Arc {
        let (left, right) = self.sides(start, first_way).unwrap_or((NONE, NONE));
        let mut corners = vec![start];
        let mut here = self.take(start, first_way);
        while here != start && !self.is_node(here) {
            corners.push(here);
            let next =
                (0..4).find(|&way| self.sides(here, way).is_some() && !self.is_taken(here, way));
            let Some(way) = next else { break };
            here = self.take(here, way);
        }
        if !is_closed {
            corners.push(here);
        }
        Arc {
            corners,
            left,
            right,
            is_closed,
        }
    }
}

fn differ(a: u8, b: u8) -> bool {
    a != b && a != NONE && b != NONE
}

#[cfg(test)]
#[path = "arcs_tests.rs"]
mod arcs_tests;
