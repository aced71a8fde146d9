//! Drawing where observations are dense: each cell looks for its own nearest.

use super::drawing::{Drawing, Part, Piece};
use super::grid_index::{GridIndex, Nearest};
use super::inverse_distance::{AT_THE_PLACE, Decay};
use super::neighbours::Neighbours;
use super::one_cell::OneCell;

/// Fills a piece of the map.
#[inline]
pub(super) fn fill<D: Decay>(
    neighbours: &Neighbours<'_>,
    drawing: &Drawing<'_>,
    decay: D,
    piece: &mut Piece<'_, '_>,
) {
    let sites = neighbours.sites();
    let mut search = GridIndex::new(sites, drawing.count);
    let mut slow = OneCell::new(neighbours, drawing);
    let (mut site, mut squared, mut weights) = (Vec::new(), Vec::new(), Vec::new());
    for (slot, &cell) in piece.cells.iter().enumerate() {
        let (x, y) = piece.grid.centre(cell);
        let found = search.find(x, y, drawing.count, &mut site, &mut squared);
        let nearest = squared
            .iter()
            .fold(f64::INFINITY, |least, &d| if d < least { d } else { least });
        if found == Nearest::AskTheTree {
            slow.fill(x, y, slot, &mut piece.parts);
            continue;
        }
        if found == Nearest::WithTies || nearest <= AT_THE_PLACE {
            slow.fill_from(&site, &squared, slot, &mut piece.parts);
            continue;
        }
        for s in &mut site {
            *s = sites.source[*s as usize];
        }
        weights.clear();
        weights.extend(squared.iter().map(|d| decay.weight(1.0 / d, nearest)));
        let inverse: f64 = squared.iter().map(|d| 1.0 / d).sum();
        let harmonic = squared.len() as f64 / inverse;
        write(drawing, &site, &weights, harmonic, slot, &mut piece.parts);
    }
}

#[inline]
fn write(
    drawing: &Drawing<'_>,
    source: &[u32],
    weights: &[f64],
    harmonic: f64,
    slot: usize,
    parts: &mut [Part<'_>],
) {
    let scale = 1.0 / weights.iter().sum::<f64>();
    for (part, layer) in parts.iter_mut().zip(&drawing.layers) {
        let sum: f64 = weights
            .iter()
            .zip(source)
            .map(|(w, &i)| w * layer.values[i as usize])
            .sum();
        part.values[slot] = (sum * scale) as f32;
        part.standard_error[slot] = layer.curve.at(harmonic) as f32;
    }
}
