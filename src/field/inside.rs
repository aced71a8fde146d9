//! Whether points lie inside an area, quickly for a million of them.

use geo::{Contains, Coord, Distance, Euclidean, MultiPolygon, Point};
use rayon::prelude::*;

use super::Grid;

/// An area with the cells that lie wholly inside it, for many questions.
pub(super) struct Inside<'a> {
    area: &'a MultiPolygon<f64>,
    grid: &'a Grid,
    /// Row-major over the grid's rectangle: the cell lies wholly inside.
    is_whole: Vec<bool>,
}

/// A cell with at least this share is wholly inside.
const WHOLE: f32 = 1.0 - 1e-6;

impl<'a> Inside<'a> {
    /// The area's index; the grid must cover a part of the area.
    pub(super) fn new(area: &'a MultiPolygon<f64>, grid: &'a Grid) -> Self {
        let mut is_whole = vec![false; grid.columns * grid.rows];
        for (&cell, &share) in grid.cells.iter().zip(&grid.share) {
            is_whole[cell as usize] = share >= WHOLE;
        }
        Self {
            area,
            grid,
            is_whole,
        }
    }

    /// Metres from the area; 0 inside.
    pub(super) fn distance(&self, x: f64, y: f64) -> f64 {
        let is_whole = self
            .grid
            .cell_at(x, y)
            .is_some_and(|cell| self.is_whole[cell as usize]);
        if is_whole || self.area.contains(&Coord { x, y }) {
            return 0.0;
        }
        Euclidean.distance(&Point::new(x, y), self.area)
    }

    /// The points that do not lie inside, rising, with their distance in metres.
    pub(super) fn strays(&self, x: &[f64], y: &[f64]) -> Vec<(u32, f64)> {
        let distances = x
            .par_iter()
            .zip(y)
            .enumerate()
            .map(|(at, (x, y))| (at as u32, self.distance(*x, *y)));
        distances.filter(|(_, distance)| *distance > 0.0).collect()
    }
}
