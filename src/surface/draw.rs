//! The map itself: every cell of the grid from its nearest observations, in pieces of parallel work.

use rayon::prelude::*;

use super::drawing::{Drawing, Drawn, Part, Piece, ROWS};
use super::inverse_distance::{AnyPower, Decay, Four, One, OneAndAHalf, Three, Two, TwoAndAHalf};
use super::neighbours::Neighbours;
use super::{cell_by_cell, tiled};
use crate::field::Grid;

/// From so many observations per block of cells on, as a share of the neighbours asked for, each cell does better on its own: then
/// a block is half as wide as its neighbours are far, and few of them are sure.
const DENSE: f64 = 0.05;

/// Values and uncertainty of every layer for every cell.
pub(super) fn draw(neighbours: &Neighbours<'_>, grid: &Grid, drawing: &Drawing<'_>) -> Vec<Drawn> {
    match drawing.power.0 {
        1.0 => draw_with(neighbours, grid, drawing, One),
        1.5 => draw_with(neighbours, grid, drawing, OneAndAHalf),
        2.0 => draw_with(neighbours, grid, drawing, Two),
        2.5 => draw_with(neighbours, grid, drawing, TwoAndAHalf),
        3.0 => draw_with(neighbours, grid, drawing, Three),
        4.0 => draw_with(neighbours, grid, drawing, Four),
        power => draw_with(neighbours, grid, drawing, AnyPower { half: power / 2.0 }),
    }
}

fn draw_with<D: Decay>(
    neighbours: &Neighbours<'_>,
    grid: &Grid,
    drawing: &Drawing<'_>,
    decay: D,
) -> Vec<Drawn> {
    let size = grid.cells.len();
    let mut maps: Vec<Drawn> = drawing
        .layers
        .iter()
        .map(|_| Drawn {
            values: vec![0.0; size],
            standard_error: vec![0.0; size],
        })
        .collect();
    let block = (tiled::SIDE as f64 * grid.cell).powi(2);
    let sites = neighbours.sites();
    let is_dense = drawing.count < sites.len()
        && sites.per_square_metre() * block > DENSE * drawing.count as f64;
    pieces(grid, &mut maps)
        .into_par_iter()
        .for_each(|mut piece| {
            if is_dense {
                cell_by_cell::fill(neighbours, drawing, decay, &mut piece);
            } else {
                tiled::fill(neighbours, drawing, decay, &mut piece);
            }
        });
    maps
}

/// The grid in pieces of whole rows. The cut depends on the grid alone, so that the number of threads changes nothing.
fn pieces<'g, 'm>(grid: &'g Grid, maps: &'m mut [Drawn]) -> Vec<Piece<'g, 'm>> {
    let mut rest: Vec<Part<'m>> = maps
        .iter_mut()
        .map(|map| Part {
            values: &mut map.values,
            standard_error: &mut map.standard_error,
        })
        .collect();
    let mut pieces = Vec::new();
    let mut cells = grid.cells.as_slice();
    let band = |cell: u32| cell as usize / grid.columns / ROWS;
    while let Some(&first) = cells.first() {
        let length = cells.partition_point(|&cell| band(cell) == band(first));
        let mut parts = Vec::with_capacity(rest.len());
        for part in &mut rest {
            let whole = std::mem::take(part);
            let (values, later_values) = whole.values.split_at_mut(length);
            let (standard_error, later_standard_error) = whole.standard_error.split_at_mut(length);
            *part = Part {
                values: later_values,
                standard_error: later_standard_error,
            };
            parts.push(Part {
                values,
                standard_error,
            });
        }
        pieces.push(Piece {
            grid,
            cells: &cells[..length],
            parts,
        });
        cells = &cells[length..];
    }
    pieces
}
