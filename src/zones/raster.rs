//! Zone labels on the cells of the grid, with a rim of empty cells round the rectangle.

use crate::field::Grid;

/// No zone: the cell does not touch the workable area.
pub(super) const NONE: u8 = u8::MAX;

/// One label per cell, row-major from the north-west corner, rows from north to south.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Raster {
    pub labels: Vec<u8>,
    pub width: usize,
    pub height: usize,
    /// Cells added on each side of the grid.
    pub rim: usize,
    /// Position in `labels` of each of the grid's cells.
    pub cells: Vec<u32>,
    /// Those of them that have an empty cell to the north, west, east or south.
    edge: Vec<u32>,
}

impl Raster {
    pub fn new(grid: &Grid, labels: &[u8], rim: usize) -> Self {
        let (width, height) = (grid.columns + 2 * rim, grid.rows + 2 * rim);
        let position = |&cell: &u32| {
            let (row, column) = (cell as usize / grid.columns, cell as usize % grid.columns);
            ((row + rim) * width + column + rim) as u32
        };
        let cells: Vec<u32> = grid.cells.iter().map(position).collect();
        let mut all = vec![NONE; width * height];
        for (&cell, &label) in cells.iter().zip(labels) {
            all[cell as usize] = label;
        }
        let mut raster = Self { labels: all, width, height, rim, cells, edge: Vec::new() };
        raster.find_edge();
        raster
    }

    /// To be called when cells have become empty.
    pub fn find_edge(&mut self) {
        // The rim keeps the four neighbours of the field's cells inside the rectangle.
        let is_empty = |cell: usize| self.labels[cell] == NONE;
        let around = |cell: usize| [cell - self.width, cell - 1, cell + 1, cell + self.width];
        self.edge = self.cells.iter().copied().filter(|&cell| around(cell as usize).into_iter().any(is_empty)).collect();
    }

    /// Labels of the grid's cells, in their order.
    pub fn of_cells(&self) -> Vec<u8> {
        self.cells.iter().map(|&cell| self.labels[cell as usize]).collect()
    }

    /// The labels grown outwards by some cells, each empty cell taking the label of a neighbour that has one, so that the
    /// lines between zones run past the outline of the field.
    pub fn grown(&self, steps: usize) -> Vec<u8> {
        let mut labels = self.labels.clone();
        let mut front = self.edge.clone();
        for _ in 0..steps {
            let mut next = Vec::new();
            for &cell in &front {
                let label = labels[cell as usize];
                for neighbour in self.neighbours(cell as usize).into_iter().flatten() {
                    if labels[neighbour] == NONE {
                        labels[neighbour] = label;
                        next.push(neighbour as u32);
                    }
                }
            }
            front = next;
        }
        labels
    }

    /// The cells to the north, west, east and south, where the rectangle has them.
    pub fn neighbours(&self, cell: usize) -> [Option<usize>; 4] {
        let (row, column) = (cell / self.width, cell % self.width);
        [
            (row > 0).then(|| cell - self.width),
            (column > 0).then(|| cell - 1),
            (column + 1 < self.width).then(|| cell + 1),
            (row + 1 < self.height).then(|| cell + self.width),
        ]
    }
}
