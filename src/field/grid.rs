/// The square cells that cover the workable area. Rows run from north to south, columns from west to east.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// West edge of the first column, metres.
    pub west: f64,
    /// North edge of the first row, metres.
    pub north: f64,
    /// Side of a cell, metres.
    pub cell: f64,
    /// Number of columns.
    pub columns: usize,
    /// Number of rows.
    pub rows: usize,
    /// Row-major index (row x columns + column) of every cell that touches the workable area, rising.
    pub cells: Vec<u32>,
    /// Share of each of those cells that is workable, more than 0, at most 1: the weight in zone means.
    pub share: Vec<f32>,
}

impl Grid {
    /// Centre of a cell, by its row-major index, in metres.
    #[must_use]
    pub fn centre(&self, cell: u32) -> (f64, f64) {
        let (row, column) = (cell as usize / self.columns, cell as usize % self.columns);
        (self.west + (column as f64 + 0.5) * self.cell, self.north - (row as f64 + 0.5) * self.cell)
    }

    /// Row-major index of the cell that holds a point; `None` outside the grid's rectangle.
    #[must_use]
    pub fn cell_at(&self, x: f64, y: f64) -> Option<u32> {
        let column = ((x - self.west) / self.cell).floor();
        let row = ((self.north - y) / self.cell).floor();
        let inside = column >= 0.0 && row >= 0.0 && column < self.columns as f64 && row < self.rows as f64;
        inside.then(|| (row as usize * self.columns + column as usize) as u32)
    }

    /// Position in `cells` of a row-major index; `None` where that cell does not touch the workable area.
    #[must_use]
    pub fn slot(&self, cell: u32) -> Option<usize> {
        self.cells.binary_search(&cell).ok()
    }
}
