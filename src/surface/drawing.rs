//! The map itself: every cell of the grid from its nearest observations.

use rayon::prelude::*;

use super::inverse_distance::Power;
use super::neighbours::Neighbours;
use crate::field::Grid;

/// Grid rows per piece of parallel work.
const ROWS: usize = 8;

/// How one or more layers of a group are drawn.
pub(super) struct Drawing<'a> {
    /// Power of the inverse distance.
    pub power: Power,
    /// How many nearest sites.
    pub count: usize,
    /// Values of each layer, by observation.
    pub values: Vec<&'a [f64]>,
}

/// Values of every layer for every cell, in the order of `Grid::cells`.
pub(super) fn draw(neighbours: &Neighbours<'_>, grid: &Grid, drawing: &Drawing<'_>) -> Vec<Vec<f32>> {
    let mut maps: Vec<Vec<f32>> = drawing.values.iter().map(|_| vec![0.0; grid.cells.len()]).collect();
    let mut rest: Vec<&mut [f32]> = maps.iter_mut().map(Vec::as_mut_slice).collect();
    let mut bands = Vec::new();
    let mut start = 0;
    while start < grid.cells.len() {
        let band = grid.cells[start] as usize / grid.columns / ROWS;
        let end = start + grid.cells[start..].partition_point(|&cell| cell as usize / grid.columns / ROWS == band);
        let (head, tail): (Vec<_>, Vec<_>) = rest.into_iter().map(|map| map.split_at_mut(end - start)).unzip();
        bands.push((&grid.cells[start..end], head));
        rest = tail;
        start = end;
    }
    bands.into_par_iter().for_each(|(cells, mut maps)| {
        let (mut found, mut weights) = (Vec::new(), Vec::new());
        for (slot, &cell) in cells.iter().enumerate() {
            let (x, y) = grid.centre(cell);
            neighbours.nearest(x, y, drawing.count, &mut found);
            drawing.power.weigh(&found, drawing.count, &mut weights);
            let all: f64 = weights.iter().sum();
            for (map, values) in maps.iter_mut().zip(&drawing.values) {
                let sum: f64 =
                    weights.iter().zip(&found).map(|(w, n)| w * values[neighbours.sites().source[n.site as usize] as usize]).sum();
                map[slot] = (sum / all) as f32;
            }
        }
    });
    maps
}
