//! Zone labels on the cells of the grid, with a rim of empty cells round the rectangle.

use crate::field::Grid;

/// No zone: the cell does not touch the workable area.
pub(super) const NONE: u8 = u8::MAX;

/// Where the cells of a raster lie on the field's plane, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Plane {
    /// The outer corner of the first cell of the first row.
    pub origin: (f64, f64),
    /// From a cell to the next of its row.
    pub column: (f64, f64),
    /// From a row to the next.
    pub row: (f64, f64),
}

impl Plane {
    /// The plane of a grid with a rim of cells: columns run east, rows south.
    pub fn of_grid(grid: &Grid, rim: usize) -> Self {
        let rim = rim as f64 * grid.cell;
        Self {
            origin: (grid.west - rim, grid.north + rim),
            column: (grid.cell, 0.0),
            row: (0.0, -grid.cell),
        }
    }

    /// Where a corner lies, counted in columns and rows.
    pub fn place(&self, column: f64, row: f64) -> (f64, f64) {
        (
            self.origin.0 + column * self.column.0 + row * self.row.0,
            self.origin.1 + column * self.column.1 + row * self.row.1,
        )
    }

    /// Columns and rows from the origin to a place.
    pub fn position(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let (east, north) = (x - self.origin.0, y - self.origin.1);
        let turn = self.column.0 * self.row.1 - self.column.1 * self.row.0;
        (
            (east * self.row.1 - north * self.row.0) / turn,
            (north * self.column.0 - east * self.column.1) / turn,
        )
    }
}

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
    /// The labels of a grid's cells, with so many empty rows and columns around them.
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
        Self::from_labels(all, (width, height), rim, cells)
    }

    /// Labels as they stand in the rectangle of a width and a height, and the positions of the cells that have one.
    pub fn from_labels(
        labels: Vec<u8>,
        (width, height): (usize, usize),
        rim: usize,
        cells: Vec<u32>,
    ) -> Self {
        let mut raster = Self {
            labels,
            width,
            height,
            rim,
            cells,
            edge: Vec::new(),
        };
        raster.find_edge();
        raster
    }

    /// To be called when cells have become empty.
    pub fn find_edge(&mut self) {
        // The rim keeps the four neighbours of the field's cells inside the rectangle.
        let is_empty = |cell: usize| self.labels[cell] == NONE;
        let around = |cell: usize| [cell - self.width, cell - 1, cell + 1, cell + self.width];
        self.edge = self
            .cells
            .iter()
            .copied()
            .filter(|&cell| around(cell as usize).into_iter().any(is_empty))
            .collect();
    }

    /// Labels of the grid's cells, in their order.
    pub fn of_cells(&self) -> Vec<u8> {
        self.cells
            .iter()
            .map(|&cell| self.labels[cell as usize])
            .collect()
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
