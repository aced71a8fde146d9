//! The map itself: every cell of the grid from its nearest observations.

use rayon::prelude::*;

use super::doubt::{DoubtCurve, harmonic_squared};
use super::inverse_distance::Power;
use super::neighbours::Neighbours;
use crate::field::Grid;

/// Grid rows per piece of parallel work.
const ROWS: usize = 8;

/// A layer whose map is wanted.
pub(super) struct LayerToDraw<'a> {
    /// Values by observation.
    pub values: &'a [f64],
    /// Its doubt.
    pub curve: DoubtCurve,
}

/// How one or more layers of a group are drawn.
pub(super) struct Drawing<'a> {
    /// Power of the inverse distance.
    pub power: Power,
    /// How many nearest sites.
    pub count: usize,
    /// The layers.
    pub layers: Vec<LayerToDraw<'a>>,
}

/// A layer's map, in the order of `Grid::cells`.
pub(super) struct Drawn {
    /// Values.
    pub values: Vec<f32>,
    /// Standard errors.
    pub doubt: Vec<f32>,
}

/// The part of a layer's map that one piece of work fills.
struct Part<'m> {
    values: &'m mut [f32],
    doubt: &'m mut [f32],
}

/// Values and doubt of every layer for every cell.
pub(super) fn draw(neighbours: &Neighbours<'_>, grid: &Grid, drawing: &Drawing<'_>) -> Vec<Drawn> {
    let size = grid.cells.len();
    let mut maps: Vec<Drawn> = drawing.layers.iter().map(|_| Drawn { values: vec![0.0; size], doubt: vec![0.0; size] }).collect();
    let mut rest: Vec<Part<'_>> = maps.iter_mut().map(|map| Part { values: &mut map.values, doubt: &mut map.doubt }).collect();
    let mut bands = Vec::new();
    let mut start = 0;
    while start < size {
        let band = |cell: u32| cell as usize / grid.columns / ROWS;
        let length = grid.cells[start..].partition_point(|&cell| band(cell) == band(grid.cells[start]));
        let mut parts = Vec::with_capacity(rest.len());
        for part in &mut rest {
            let (values, later_values) = std::mem::take(&mut part.values).split_at_mut(length);
            let (doubt, later_doubt) = std::mem::take(&mut part.doubt).split_at_mut(length);
            *part = Part { values: later_values, doubt: later_doubt };
            parts.push(Part { values, doubt });
        }
        bands.push((&grid.cells[start..start + length], parts));
        start += length;
    }
    bands.into_par_iter().for_each(|(cells, mut maps)| {
        let (mut found, mut weights) = (Vec::new(), Vec::new());
        let source = &neighbours.sites().source;
        for (slot, &cell) in cells.iter().enumerate() {
            let (x, y) = grid.centre(cell);
            neighbours.nearest(x, y, drawing.count, &mut found);
            drawing.power.weigh(&found, drawing.count, &mut weights);
            let all: f64 = weights.iter().sum();
            let harmonic = harmonic_squared(&found, drawing.count);
            for (map, layer) in maps.iter_mut().zip(&drawing.layers) {
                let sum: f64 = weights.iter().zip(&found).map(|(w, n)| w * layer.values[source[n.site as usize] as usize]).sum();
                map.values[slot] = (sum / all) as f32;
                map.doubt[slot] = layer.curve.at(harmonic) as f32;
            }
        }
    });
    maps
}
