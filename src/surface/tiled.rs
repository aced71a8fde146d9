//! Drawing where observations are sparse: cells of one block share most of their nearest.
//!
//! From the distances to a block's middle follows which sites are among the nearest of every cell of the block, which
//! may be, and which cannot be. Only those that may be are compared cell by cell, eight cells of a row at once.

use super::drawing::{Drawing, Piece, ROWS};
use super::grid_index::TIE;
use super::inverse_distance::{AT_THE_PLACE, Decay};
use super::neighbours::{Neighbour, Neighbours};
use super::one_cell::OneCell;

/// Side of a block, cells.
pub(super) const SIDE: usize = 8;
/// Columns of cells whose candidates are looked up at once.
const WIDE: usize = 64;
/// Open sites per neighbour asked for that a block may have.
const CROWD: usize = 16;
/// One number for each cell of a row of a block.
type Row = [f64; SIDE];

/// Fills a piece of the map.
#[inline]
pub(super) fn fill<D: Decay>(
    neighbours: &Neighbours<'_>,
    drawing: &Drawing<'_>,
    decay: D,
    piece: &mut Piece<'_, '_>,
) {
    let mut block = Block::default();
    let mut slow = OneCell::new(neighbours, drawing);
    let Some(mut rows) = RowsOfPiece::of(piece) else {
        return;
    };
    let top = rows.top;
    for left in (0..piece.grid.columns).step_by(SIDE) {
        if left % WIDE == 0 {
            block.look_up(neighbours, drawing.count, piece, (left, top));
        }
        for first in (0..ROWS).step_by(SIDE) {
            let mut is_ready = false;
            for row in first..first + SIDE {
                let (start, end) = rows.next_slots(piece, row, left);
                if start == end {
                    continue;
                }
                if !is_ready {
                    block.sort_out(neighbours, drawing, piece, (left, top + first));
                    is_ready = true;
                }
                if block.is_crowded(drawing.count) {
                    for slot in start..end {
                        let (x, y) = piece.grid.centre(piece.cells[slot]);
                        slow.fill(x, y, slot, &mut piece.parts);
                    }
                } else {
                    let row = row - first;
                    let at = RowOfBlock {
                        row,
                        left,
                        start,
                        end,
                    };
                    block.fill_row(drawing, decay, piece, &mut slow, at);
                }
            }
        }
    }
}

/// How far the rows of a piece are filled.
struct RowsOfPiece {
    /// The grid row of the first.
    top: usize,
    /// The next slot to fill and the end, row by row.
    slots: Vec<(usize, usize)>,
}

impl RowsOfPiece {
    /// The rows of a piece; `None` where it has no cell.
    fn of(piece: &Piece<'_, '_>) -> Option<Self> {
        let columns = piece.grid.columns;
        let &first = piece.cells.first()?;
        let top = first as usize / columns / ROWS * ROWS;
        let first_of = |row: usize| {
            let before = |&cell: &u32| (cell as usize) < row * columns;
            piece.cells.partition_point(before)
        };
        let slots = (top..top + ROWS)
            .map(|row| (first_of(row), first_of(row + 1)))
            .collect();
        Some(Self { top, slots })
    }

    /// The slots of a row's cells in the block that begins at a column; blocks are asked for from left to right.
    #[inline]
    fn next_slots(&mut self, piece: &Piece<'_, '_>, row: usize, left: usize) -> (usize, usize) {
        let columns = piece.grid.columns;
        let limit = ((self.top + row) * columns + left + SIDE).min((self.top + row + 1) * columns);
        let (start, row_end) = self.slots[row];
        let mut end = start;
        while end < row_end && (piece.cells[end] as usize) < limit {
            end += 1;
        }
        self.slots[row].0 = end;
        (start, end)
    }
}

/// A row of a block: which of the eight, its first column, and the slots of its cells.
#[derive(Clone, Copy)]
struct RowOfBlock {
    row: usize,
    left: usize,
    start: usize,
    end: usize,
}

/// The sites that have a say in a block, and room to work in.
#[derive(Default)]
struct Block {
    /// Candidates for a whole group of blocks.
    wide: Vec<Neighbour>,
    /// Sites that are among the nearest of every cell, then those that may be.
    sites: Vec<u32>,
    /// How many are sure.
    sure: usize,
    /// How many of the others each cell takes.
    open: usize,
    /// Squared distance east-west, site by site.
    east: Vec<Row>,
    /// Squared distance north-south, site by site.
    north: Vec<Row>,
    /// Values, layer by layer, site by site.
    values: Vec<f64>,
    /// Squared distances of one row, site by site.
    squared: Vec<Row>,
    /// Weights of one row, site by site.
    weights: Vec<Row>,
    /// The smallest distances of one row.
    least: Vec<Row>,
    /// Distances to sort.
    scratch: Vec<f64>,
}

impl Block {
    /// All sites that may be among the nearest of some cell of the next `WIDE` columns.
    fn look_up(
        &mut self,
        neighbours: &Neighbours<'_>,
        count: usize,
        piece: &Piece<'_, '_>,
        (left, top): (usize, usize),
    ) {
        let grid = piece.grid;
        let (half_width, half_height) =
            (WIDE as f64 / 2.0 * grid.cell, ROWS as f64 / 2.0 * grid.cell);
        let x = grid.west + left as f64 * grid.cell + half_width;
        let y = grid.north - top as f64 * grid.cell - half_height;
        // The nearest of any cell lie no farther from the middle than the last of the middle's own, and twice the way there.
        let reach =
            neighbours.squared_reach(x, y, count).sqrt() + 2.0 * half_width.hypot(half_height);
        neighbours.within(x, y, reach * reach * (1.0 + 1e-9), &mut self.wide);
    }

    /// Which sites are sure, which are open, and all that does not change within the block.
    fn sort_out(
        &mut self,
        neighbours: &Neighbours<'_>,
        drawing: &Drawing<'_>,
        piece: &Piece<'_, '_>,
        (left, top): (usize, usize),
    ) {
        let (grid, sites) = (piece.grid, neighbours.sites());
        let half = SIDE as f64 / 2.0 * grid.cell;
        let (x, y) = (
            grid.west + left as f64 * grid.cell + half,
            grid.north - top as f64 * grid.cell - half,
        );
        let way = 2.0 * (half - grid.cell / 2.0) * std::f64::consts::SQRT_2 * (1.0 + 1e-9);
        for near in &mut self.wide {
            let (dx, dy) = (
                sites.x[near.site as usize] - x,
                sites.y[near.site as usize] - y,
            );
            near.squared = dx * dx + dy * dy;
        }
        self.scratch.clear();
        self.scratch
            .extend(self.wide.iter().map(|near| near.squared));
        let (last, after) = last_and_next(&mut self.scratch, drawing.count);
        let sure = (after.sqrt() - way).max(0.0).powi(2) * (1.0 - 1e-9);
        let possible = (last.sqrt() + way).powi(2) * (1.0 + 1e-9);
        self.sites.clear();
        self.sites.extend(
            self.wide
                .iter()
                .filter(|near| near.squared < sure)
                .map(|near| near.site),
        );
        self.sure = self.sites.len();
        self.sites.extend(
            self.wide
                .iter()
                .filter(|near| near.squared >= sure && near.squared <= possible)
                .map(|near| near.site),
        );
        self.open = drawing
            .count
            .min(self.sites.len())
            .saturating_sub(self.sure);
        self.measure(neighbours, drawing, piece, (left, top));
    }

    /// Whether so many sites are open that each cell does better on its own: a far cluster is near and far at once.
    fn is_crowded(&self, count: usize) -> bool {
        self.sites.len() - self.sure > CROWD * count.min(16)
    }

    fn measure(
        &mut self,
        neighbours: &Neighbours<'_>,
        drawing: &Drawing<'_>,
        piece: &Piece<'_, '_>,
        (left, top): (usize, usize),
    ) {
        let (grid, sites) = (piece.grid, neighbours.sites());
        let mut xs = [0.0; SIDE];
        let mut ys = [0.0; SIDE];
        for i in 0..SIDE {
            // The same arithmetic as `Grid::centre`, so that a cell on a core is on it to the last bit.
            xs[i] = grid.west + ((left + i) as f64 + 0.5) * grid.cell;
            ys[i] = grid.north - ((top + i) as f64 + 0.5) * grid.cell;
        }
        self.east.clear();
        self.north.clear();
        for &site in &self.sites {
            let (x, y) = (sites.x[site as usize], sites.y[site as usize]);
            self.east.push(xs.map(|cell| (x - cell) * (x - cell)));
            self.north.push(ys.map(|cell| (y - cell) * (y - cell)));
        }
        self.values.clear();
        for layer in &drawing.layers {
            self.values.extend(
                self.sites
                    .iter()
                    .map(|&site| layer.values[sites.source[site as usize] as usize]),
            );
        }
    }

    #[inline]
    fn fill_row<D: Decay>(
        &mut self,
        drawing: &Drawing<'_>,
        decay: D,
        piece: &mut Piece<'_, '_>,
        slow: &mut OneCell<'_>,
        at: RowOfBlock,
    ) {
        self.squared.clear();
        self.squared.extend(
            self.east
                .iter()
                .zip(&self.north)
                .map(|(east, north)| east.map(|e| e + north[at.row])),
        );
        let (last, next) = self.cut();
        let (all, inverses) = self.weigh(decay, &last);
        let columns = piece.grid.columns;
        let lane = |cell: u32| cell as usize % columns - at.left;
        let cells = &piece.cells[at.start..at.end];
        let harmonic = inverses.map(|inverse| drawing.count.min(self.sites.len()) as f64 / inverse);
        for (l, (layer, part)) in drawing.layers.iter().zip(&mut piece.parts).enumerate() {
            let values = &self.values[l * self.sites.len()..(l + 1) * self.sites.len()];
            let mut sums = [0.0; SIDE];
            for (weights, value) in self.weights.iter().zip(values) {
                for i in 0..SIDE {
                    sums[i] += weights[i] * value;
                }
            }
            let mut row = [0.0f32; SIDE];
            let mut standard_error = [0.0f32; SIDE];
            for i in 0..SIDE {
                row[i] = (sums[i] / all[i]) as f32;
                standard_error[i] = layer.curve.at(harmonic[i]) as f32;
            }
            for (slot, &cell) in (at.start..at.end).zip(cells) {
                part.values[slot] = row[lane(cell)];
                part.standard_error[slot] = standard_error[lane(cell)];
            }
        }
        // On a core a weight is infinite, and where sites tie for the last place they share it.
        for (slot, &cell) in (at.start..at.end).zip(cells) {
            let i = lane(cell);
            if !(inverses[i] < 1.0 / AT_THE_PLACE && next[i] > last[i] * (1.0 + TIE)) {
                let (x, y) = piece.grid.centre(cell);
                slow.fill(x, y, slot, &mut piece.parts);
            }
        }
    }

    /// The last squared distance that each cell takes of the open sites, and the next one.
    #[inline]
    fn cut(&mut self) -> (Row, Row) {
        let open = &self.squared[self.sure..];
        if self.open == open.len() {
            // Half of the greatest number, so that a hair more than it is still a number and less than infinite.
            return ([f64::MAX / 2.0; SIDE], [f64::INFINITY; SIDE]);
        }
        self.least.clear();
        self.least.resize(self.open + 1, [f64::INFINITY; SIDE]);
        for distances in open {
            let mut moving = *distances;
            for kept in &mut self.least {
                for i in 0..SIDE {
                    let (a, b) = (kept[i], moving[i]);
                    kept[i] = if a < b { a } else { b };
                    moving[i] = if a < b { b } else { a };
                }
            }
        }
        let next = self.least[self.open];
        // Where none of the open sites is taken, none may be within the limit.
        let last = self
            .open
            .checked_sub(1)
            .map_or([-1.0; SIDE], |last| self.least[last]);
        (last, next)
    }

    /// Weights of a row, their sum, and the sum of the inverse squared distances of those that have a say.
    #[inline]
    fn weigh<D: Decay>(&mut self, decay: D, last: &Row) -> (Row, Row) {
        let mut nearest = [f64::INFINITY; SIDE];
        if D::NEEDS_NEAREST {
            for distances in &self.squared {
                for i in 0..SIDE {
                    nearest[i] = if distances[i] < nearest[i] {
                        distances[i]
                    } else {
                        nearest[i]
                    };
                }
            }
        }
        let (mut all, mut inverses) = ([0.0; SIDE], [0.0; SIDE]);
        self.weights.clear();
        let (sure, open) = self.squared.split_at(self.sure);
        let mut add = |inverse: Row| {
            let mut row = [0.0; SIDE];
            for i in 0..SIDE {
                row[i] = decay.weight(inverse[i], nearest[i]);
                inverses[i] += inverse[i];
                all[i] += row[i];
            }
            self.weights.push(row);
        };
        for distances in sure {
            add(distances.map(|squared| 1.0 / squared));
        }
        for distances in open {
            let mut inverse = [0.0; SIDE];
            for i in 0..SIDE {
                inverse[i] = if distances[i] <= last[i] {
                    1.0 / distances[i]
                } else {
                    0.0
                };
            }
            add(inverse);
        }
        (all, inverses)
    }
}

/// The `count`-th smallest number and the one after it; infinite where there is none.
fn last_and_next(numbers: &mut [f64], count: usize) -> (f64, f64) {
    if count >= numbers.len() {
        return (f64::INFINITY, f64::INFINITY);
    }
    let (_, next, _) = numbers.select_nth_unstable_by(count, f64::total_cmp);
    let next = *next;
    let last = numbers[..count]
        .iter()
        .fold(0.0, |last: f64, n| last.max(*n));
    (last, next)
}
