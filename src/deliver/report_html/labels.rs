//! Where a zone's number stands: at the widest place of each of its larger parts.

use std::ops::Range;

use super::insets::Inset;
use crate::deliver::overview::Overview;
use crate::field::Grid;

/// Most cells on the longer side of the raster that places are sought on.
const SIDE: usize = 140;
/// A part smaller than this share of its zone gets no number of its own, unless it is the zone's largest.
const LEAST_SHARE: f64 = 0.08;

/// A place for a number, on the field's plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Label {
    /// Position of the zone.
    pub zone: usize,
    /// Metres east.
    pub x: f64,
    /// Metres north.
    pub y: f64,
    /// Metres to the nearest edge.
    pub room: f64,
}

/// The places in an inset, zone by zone, the widest of each zone first.
#[must_use]
pub fn labels(overview: &Overview<'_>, inset: &Inset) -> Vec<Label> {
    let coarse = Coarse::new(overview, inset);
    let distance = coarse.distances();
    let mut labels: Vec<Label> = Vec::new();
    for zone in 0..overview.zones.len() {
        let mut parts = coarse.parts(zone, &distance);
        parts.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
        let whole: usize = parts.iter().map(|part| part.1).sum();
        let shown = parts
            .iter()
            .enumerate()
            .filter(|(at, part)| *at == 0 || part.1 as f64 >= LEAST_SHARE * whole as f64);
        labels.extend(shown.map(|(_, &(cell, _))| coarse.label(zone, cell, distance[cell])));
    }
    labels
}

/// The rows and columns of a grid that an inset shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Window {
    /// Rows from the north.
    pub rows: Range<usize>,
    /// Columns from the west.
    pub columns: Range<usize>,
}

/// The part of a grid that lies in an inset.
#[must_use]
pub fn grid_window(grid: &Grid, inset: &Inset) -> Window {
    let (west, south, east, north) = inset.ground;
    let steps = |metres: f64, most: usize| ((metres / grid.cell).max(0.0) as usize).min(most);
    let from = steps(west - grid.west, grid.columns);
    let to = steps(east - grid.west + grid.cell, grid.columns);
    let top = steps(grid.north - north, grid.rows);
    let bottom = steps(grid.north - south + grid.cell, grid.rows);
    Window {
        rows: top..bottom.max(top),
        columns: from..to.max(from),
    }
}

/// The zones on every n-th cell.
struct Coarse {
    columns: usize,
    rows: usize,
    step: usize,
    west: f64,
    north: f64,
    cell: f64,
    /// Position of the zone plus 1; 0 outside.
    zone: Vec<u16>,
}

impl Coarse {
    fn new(overview: &Overview<'_>, inset: &Inset) -> Self {
        let grid = &overview.stages.field.grid;
        let window = grid_window(grid, inset);
        let (width, height) = (window.columns.len(), window.rows.len());
        let step = width.max(height).div_ceil(SIDE).max(1);
        let (columns, rows) = (width.div_ceil(step), height.div_ceil(step));
        let mut zone = vec![0; columns * rows];
        let position = overview.position_of();
        for (&cell, &of_cell) in grid.cells.iter().zip(&overview.stages.zones.of_cell) {
            let (row, column) = (cell as usize / grid.columns, cell as usize % grid.columns);
            if !(window.rows.contains(&row) && window.columns.contains(&column)) {
                continue;
            }
            let (row, column) = (row - window.rows.start, column - window.columns.start);
            if row % step == 0 && column % step == 0 {
                zone[row / step * columns + column / step] =
                    position[usize::from(of_cell)] as u16 + 1;
            }
        }
        Self {
            columns,
            rows,
            step,
            west: grid.west + window.columns.start as f64 * grid.cell,
            north: grid.north - window.rows.start as f64 * grid.cell,
            cell: grid.cell,
            zone,
        }
    }

    /// Steps to the nearest cell of another zone or the rim: 2 straight, 3 aslant (a chamfer distance), in two passes.
    fn distances(&self) -> Vec<u32> {
        let mut distance = vec![0_u32; self.zone.len()];
        let mut relax = |index: usize, neighbours: [(isize, isize, u32); 4], is_first: bool| {
            let (row, column) = (
                (index / self.columns) as isize,
                (index % self.columns) as isize,
            );
            let mut best = if is_first { u32::MAX } else { distance[index] };
            for (down, right, cost) in neighbours {
                let (r, c) = (row + down, column + right);
                let is_inside =
                    r >= 0 && c >= 0 && r < self.rows as isize && c < self.columns as isize;
                let other = (r * self.columns as isize + c) as usize;
                let reach = if is_inside && self.zone[other] == self.zone[index] {
                    distance[other].saturating_add(cost)
                } else {
                    cost
                };
                best = best.min(reach);
            }
            distance[index] = best;
        };
        for index in 0..self.zone.len() {
            relax(
                index,
                [(0, -1, 2), (-1, -1, 3), (-1, 0, 2), (-1, 1, 3)],
                true,
            );
        }
        for index in (0..self.zone.len()).rev() {
            relax(index, [(0, 1, 2), (1, 1, 3), (1, 0, 2), (1, -1, 3)], false);
        }
        distance
    }

    /// Each connected part of a zone: its cell farthest from an edge, and its number of cells.
    fn parts(&self, zone: usize, distance: &[u32]) -> Vec<(usize, usize)> {
        let mark = zone as u16 + 1;
        let mut seen = vec![false; self.zone.len()];
        let mut parts = Vec::new();
        for start in 0..self.zone.len() {
            if seen[start] || self.zone[start] != mark {
                continue;
            }
            seen[start] = true;
            let mut part = vec![start];
            let mut next = 0;
            while let Some(&cell) = part.get(next) {
                next += 1;
                for other in self.beside(cell) {
                    if !seen[other] && self.zone[other] == mark {
                        seen[other] = true;
                        part.push(other);
                    }
                }
            }
            parts.push((self.widest(&part, distance), part.len()));
        }
        parts
    }

    /// Of the cells almost as far from an edge as any, the one nearest to the part's middle.
    fn widest(&self, part: &[usize], distance: &[u32]) -> usize {
        let place = |cell: usize| ((cell / self.columns) as f64, (cell % self.columns) as f64);
        let count = part.len() as f64;
        let sum = part
            .iter()
            .map(|&cell| place(cell))
            .fold((0.0, 0.0), |sum, at| (sum.0 + at.0, sum.1 + at.1));
        let middle = (sum.0 / count, sum.1 / count);
        let most = part.iter().map(|&cell| distance[cell]).max().unwrap_or(0);
        let wide = part
            .iter()
            .copied()
            .filter(|&cell| distance[cell] * 10 >= most * 9);
        let away =
            |cell: usize| (place(cell).0 - middle.0).powi(2) + (place(cell).1 - middle.1).powi(2);
        wide.min_by(|&a, &b| away(a).total_cmp(&away(b)).then(a.cmp(&b)))
            .unwrap_or(0)
    }

    fn beside(&self, cell: usize) -> impl Iterator<Item = usize> {
        let (row, column) = (cell / self.columns, cell % self.columns);
        let up = (row > 0).then(|| cell - self.columns);
        let down = (row + 1 < self.rows).then(|| cell + self.columns);
        let left = (column > 0).then(|| cell - 1);
        let right = (column + 1 < self.columns).then(|| cell + 1);
        [up, down, left, right].into_iter().flatten()
    }

    fn label(&self, zone: usize, cell: usize, distance: u32) -> Label {
        let (row, column) = (
            cell / self.columns * self.step,
            cell % self.columns * self.step,
        );
        let centre = |at: usize| (at as f64 + 0.5) * self.cell;
        let room = f64::from(distance) / 2.0 * self.step as f64 * self.cell;
        Label {
            zone,
            x: self.west + centre(column),
            y: self.north - centre(row),
            room,
        }
    }
}
