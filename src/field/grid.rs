use geo::{BoundingRect, MultiPolygon};

use super::FieldError;
use super::coverage::{Frame, covered};
use crate::provenance::Place;

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
        (
            self.west + (column as f64 + 0.5) * self.cell,
            self.north - (row as f64 + 0.5) * self.cell,
        )
    }

    /// Row-major index of the cell that holds a point; `None` outside the grid's rectangle.
    #[must_use]
    pub fn cell_at(&self, x: f64, y: f64) -> Option<u32> {
        let column = ((x - self.west) / self.cell).floor();
        let row = ((self.north - y) / self.cell).floor();
        let inside =
            column >= 0.0 && row >= 0.0 && column < self.columns as f64 && row < self.rows as f64;
        inside.then(|| (row as usize * self.columns + column as usize) as u32)
    }

    /// Position in `cells` of a row-major index; `None` where that cell does not touch the workable area.
    #[must_use]
    pub fn slot(&self, cell: u32) -> Option<usize> {
        self.cells.binary_search(&cell).ok()
    }
}

/// Most cells of the grid's rectangle. At four layers a cell takes about 60 bytes while the surfaces are made: 1.5 GB.
pub(super) const MOST_CELLS: usize = 25_000_000;
/// A cell of which less than this share is workable is not counted: it would only be a rounding error.
const LEAST_SHARE: f64 = 1e-6;

impl Grid {
    /// The grid of square cells over an area. Its edges lie on whole multiples of the cell from the field's centre, so
    /// that a small change of the outline does not move all cells.
    ///
    /// # Errors
    /// Where the rectangle would have too many cells, or a cell is larger than the field.
    pub(super) fn over(
        area: &MultiPolygon<f64>,
        cell: f64,
        place: &Place,
    ) -> Result<Self, FieldError> {
        let Some(bounds) = area.bounding_rect() else {
            return Err(FieldError::NothingLeft {
                place: place.clone(),
            });
        };
        let west = (bounds.min().x / cell).floor() * cell;
        let north = (bounds.max().y / cell).ceil() * cell;
        let columns = ((bounds.max().x - west) / cell).ceil().max(1.0);
        let rows = ((north - bounds.min().y) / cell).ceil().max(1.0);
        let extent_m = bounds.width().min(bounds.height());
        if cell > extent_m {
            return Err(FieldError::GridTooCoarse {
                place: place.clone(),
                cell_m: cell,
                extent_m,
            });
        }
        if columns * rows > MOST_CELLS as f64 {
            let fitting = cell * (columns * rows / MOST_CELLS as f64).sqrt() * 1.01;
            let fitting_m = (fitting * 100.0).ceil() / 100.0;
            let (cells, limit) = (columns * rows, MOST_CELLS);
            return Err(FieldError::GridTooFine {
                place: place.clone(),
                cell_m: cell,
                columns,
                rows,
                cells,
                limit,
                fitting_m,
            });
        }
        let (columns, rows) = (columns as usize, rows as usize);
        let (cells, share) = covered(
            area,
            Frame {
                west,
                north,
                cell,
                columns,
                rows,
            },
            LEAST_SHARE,
        );
        Ok(Self {
            west,
            north,
            cell,
            columns,
            rows,
            cells,
            share,
        })
    }
}
